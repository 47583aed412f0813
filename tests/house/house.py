"""What the house promises about itself: each check takes a folder and returns what is wrong, a line each.

test_house.py runs every check on the tree, and on a small bad tree made for it, so that a check that finds nothing
anywhere is found out.
"""
import os
import re
import shutil
import subprocess
import sys

# What git ignores: built or written at the top level, or somebody's anywhere.
SKIPPED_AT_TOP = re.compile(r"^(\.git|build.*|out.*)$")
SKIPPED = re.compile(r"^(node_modules|__pycache__)$")
SOURCE = (".hpp", ".cpp")
CODE = SOURCE + (".h", ".c", ".py", ".js", ".mjs", ".cmake", ".glsl", ".vert", ".frag", "")

# The card's top level; dotfiles come on top.
TOP_LEVEL = {"CMakeLists.txt", "CMakePresets.json", "LICENSE", "README.md", "DEVELOPERS.md",
             "viewer", "core", "assets", "tests", "third_party"}

# Arrows run down only: a module includes itself and what stands in its set.
ARROWS = {
    "core/measure": set(),
    "core/standards": {"core/measure"},
    "core/map": {"core/measure", "core/standards"},
    "core/photo": {"core/measure", "core/standards", "core/map"},
    "core/geometry": {"core/measure", "core/standards", "core/map"},
    "core/propose": {"core/measure", "core/standards", "core/map", "core/geometry"},
    "core/job": {"core/measure", "core/standards", "core/map", "core/geometry"},
    "core/log": {"core/measure", "core/standards", "core/map", "core/geometry", "core/job"},
    "core/table": {"core/measure", "core/standards", "core/map", "core/geometry", "core/job", "core/log"},
    "core/block": {"core/measure", "core/standards", "core/map"},
    "core/sheet": {"core/measure", "core/standards", "core/map", "core/geometry", "core/job", "core/log",
                   "core/photo"},
}
for above in ("viewer/scene", "viewer/draw", "viewer/serve", "viewer/panels", "viewer/web", "viewer/commands", "viewer"):
    ARROWS[above] = set() if above == "viewer/serve" else set(ARROWS)

# What needs a screen. core never does, nor does scene, which is plain maths.
SCREEN_HEADER = re.compile(r"^(GL|GLES\d?|EGL|KHR|GLFW|epoxy|X11|wayland.*|imgui.*|backends)(/|\.h|$)|imgui")
SCREEN_SYMBOL = re.compile(r"^(gl[A-Z]|glfw|egl[A-Z]|epoxy_|X[A-Z][a-z]|wl_|_ZN.*ImGui|_ZN\d+Im[A-Z])")
SCREEN_FREE = ("core/", "viewer/scene/")

# All that a program made of core alone may load.
CORE_LOADS = re.compile(r"^(libstdc\+\+|libgcc_s|libc|libm|libfmt|ld-linux.*|libatomic)\.so")


def files(root):
    """Every file of the tree, relative to root, in order."""
    found = []
    for folder, folders, names in os.walk(root):
        top = os.path.relpath(folder, root)
        folders[:] = sorted(f for f in folders
                            if not SKIPPED.match(f) and not (top == "." and SKIPPED_AT_TOP.match(f)))
        found += [os.path.normpath(os.path.join(top, name)) for name in sorted(names)]
    return found


def text(root, path):
    """The file's text; nothing for a binary one."""
    with open(os.path.join(root, path), "rb") as file:
        data = file.read()
    return "" if b"\0" in data else data.decode("utf-8", "replace")


def includes(root):
    """(file, line number, name, whether in quotes) of each #include in the tree's C++."""
    for path in files(root):
        if not path.endswith(SOURCE):
            continue
        for number, line in enumerate(text(root, path).split("\n"), 1):
            match = re.match(r'\s*#\s*include\s*([<"])([^>"]+)[>"]', line)
            if match:
                yield path, number, match[2], match[1] == '"'


def top_level(root):
    there = {name for name in os.listdir(root)
             if not name.startswith(".") and not SKIPPED.match(name) and not SKIPPED_AT_TOP.match(name)}
    return ([f"{name}: does not belong at the top level" for name in sorted(there - TOP_LEVEL)] +
            [f"{name}: missing at the top level" for name in sorted(TOP_LEVEL - there)])


def module_of(path):
    folder = os.path.dirname(path)
    parts = folder.split("/")
    return "/".join(parts[:2])


def arrows(root):
    wrong = []
    for path, number, name, quoted in includes(root):
        where = f"{path}:{number}"
        if quoted and not name.startswith(("core/", "viewer/", "tests/", "assets/")):
            if not os.path.exists(os.path.join(root, os.path.dirname(path), name)):
                continue  # made by the build
            wrong.append(f"{where}: {name} is not named from the root")
        if not path.startswith(("core/", "viewer/")) or not name.startswith(("core/", "viewer/", "tests/")):
            continue
        source, target = module_of(path), module_of(name)
        if source not in ARROWS:
            wrong.append(f"{where}: {source} has no place in the house (tests/house/house.py, ARROWS)")
        elif target != source and target not in ARROWS[source]:
            wrong.append(f"{where}: {source} must not include {target}")
    return wrong


def types_twice(root):
    """Two types of one name in one namespace: the linker keeps one constructor for both, and memory is overwritten."""
    opens, closes = re.compile(r"\s*namespace\s*([\w:]*)\s*\{"), re.compile(r"\}\s*// namespace")
    defined = re.compile(r"(?:struct|class|union)\s+(\w+)(?!::)\b[^;]*\{")
    places = {}
    for path in files(root):
        if not path.endswith(SOURCE) or not path.startswith(("core/", "viewer/")):
            continue
        within = []
        for number, line in enumerate(text(root, path).split("\n"), 1):
            if match := opens.match(line):
                within.append(match[1])
            elif closes.match(line) and within:
                within.pop()
            elif (match := defined.match(line)) and all(within):
                places.setdefault("::".join([*within, match[1]]), []).append(f"{path}:{number}")
    return [f"{', '.join(there)}: {name} twice" for name, there in sorted(places.items()) if len(there) > 1]


def screen_includes(root):
    return [f"{path}:{number}: {name} needs a screen" for path, number, name, _ in includes(root)
            if path.startswith(SCREEN_FREE) and SCREEN_HEADER.search(name)]


def screen_symbols(library):
    """Of a static library: each symbol, its own or wanted, that speaks to a screen."""
    names = subprocess.run(["nm", "--format=posix", library], check=True, capture_output=True, text=True).stdout
    return sorted({line.split()[0] for line in names.splitlines() if line and SCREEN_SYMBOL.match(line)})


def loaded(program):
    """The shared libraries that a program names."""
    out = subprocess.run(["readelf", "--dynamic", "--wide", program], check=True, capture_output=True, text=True).stdout
    return re.findall(r"\(NEEDED\).*\[(.+)\]", out)


def screen_loads(program):
    return [name for name in loaded(program) if not CORE_LOADS.match(name)]


def vendored(root):
    """Source of others: none is kept in the tree; each dependency is a package."""
    known = re.compile(r"(^|/)(stb_\w+\.h|imgui\w*\.(h|cpp)|imconfig\.h|tiny_gltf\.h|doctest\.h|json\.hpp|CLI11\.hpp|"
                       r"glfw3\.h|expected\.hpp|three(\.\w+)*\.js)$")
    # Split, so that this file does not find itself.
    marks = re.compile("Copyr" r"ight \(c\)|Copyr" r"ight ©|SPDX-Lic" "ense-Identifier|Permission is her" "eby granted|"
                       "Licensed under the Apa" "che", re.IGNORECASE)
    wrong = []
    for path in files(root):
        if known.search(path):
            wrong.append(f"{path}: a file of somebody else's")
        elif path.endswith(CODE) and path != "LICENSE" and marks.search(text(root, path)):
            wrong.append(f"{path}: carries somebody's licence text")
    kept = {"CMakeLists.txt", "install", "packages.txt", "source", "web.cmake"}
    wrong += [f"{path}: third_party holds only {', '.join(sorted(kept))}" for path in files(root)
              if path.startswith("third_party/") and path.split("/", 1)[1] not in kept]
    return wrong


def machine_traces(root):
    """Paths of one machine and hosts of package registries: neither is anybody else's business."""
    path_of_a_machine = re.compile(r"(?<![\w.$}*)/-])/(work|tmp|root|home|farm|mnt|Users)/")
    hosts = re.compile("|".join(["deb" r"\.debian\.org", "security" r"\.debian\.org", "archive" r"\.ubuntu\.com",
                                 "registry" r"\.npmjs", "registry" r"\.yarnpkg", "pypi" r"\.org", "python" "hosted",
                                 "crates" r"\.io", "nodesource" r"\.com", r"\"resol" "ved\""]))
    wrong = []
    for path in files(root):
        for number, line in enumerate(text(root, path).split("\n"), 1):
            for match in (path_of_a_machine.search(line), hosts.search(line)):
                if match:
                    wrong.append(f"{path}:{number}: {match[0]}")
    return wrong


def unformatted(root, program="clang-format"):
    """Each place that the formatter would change."""
    sources = [path for path in files(root) if path.endswith(SOURCE)]
    if not sources:
        return ["no source found"]
    run = subprocess.run([program, "--dry-run", "-Werror", "--style=file", *sources], cwd=root, capture_output=True,
                         text=True)
    lines = [line for line in run.stderr.splitlines() if "-Wclang-format-violations" in line]
    return lines if lines or run.returncode == 0 else [run.stderr]


def package_rows(root):
    rows = []
    for number, line in enumerate(text(root, "third_party/packages.txt").split("\n"), 1):
        if line and not line.startswith("#"):
            rows.append((number, [cell.strip() for cell in line.split("|")]))
    return rows


def package_list(root):
    """Each row complete, none twice in a tier."""
    wrong, seen = [], set()
    for number, row in package_rows(root):
        where = f"third_party/packages.txt:{number}"
        if len(row) != 5:
            wrong.append(f"{where}: {len(row)} columns, not 5")
            continue
        tier, package, when, licence, purpose = row
        if tier not in ("run", "test", "web", "assets"):
            wrong.append(f"{where}: no tier '{tier}'")
        if not re.fullmatch(r"[a-z0-9][a-z0-9+.-]+( / [a-z0-9][a-z0-9+.-]+)*", package):
            wrong.append(f"{where}: '{package}' is no package's name")
        if when and not re.fullmatch(r"no [a-z0-9-]+", when):
            wrong.append(f"{where}: '{when}' is no condition")
        if not re.fullmatch(r"[A-Za-z0-9.-]+( (OR|AND|WITH) [A-Za-z0-9.-]+)*", licence):
            wrong.append(f"{where}: '{licence}' is no licence")
        if not purpose:
            wrong.append(f"{where}: {package}: what for is not said")
        if (tier, package) in seen:
            wrong.append(f"{where}: {package} stands twice in {tier}")
        seen.add((tier, package))
    return wrong


def owner(path):
    """The package that a file of the system is from."""
    for name in (path, os.path.realpath(path), path.replace("/usr/", "/", 1)):
        run = subprocess.run(["dpkg-query", "-S", name], capture_output=True, text=True)
        if run.returncode == 0:
            return {part.strip().split(":")[0] for part in run.stdout.split("\n")[0].rsplit(": ", 1)[0].split(",")}
    return set()


def unlisted_includes(root):
    """Each header from outside whose package has no row. Needs dpkg and the packages installed."""
    listed = {name for _, row in package_rows(root) for name in row[1].split(" / ")}
    of_the_system = re.compile(r"^(libc6-dev|libstdc\+\+-\d+-dev|linux-libc-dev)$")
    wrong, asked = [], {}
    for path, number, name, quoted in includes(root):
        if quoted or "/" not in name and not name.endswith(".h"):
            continue
        if name.startswith(("sys/", "emscripten", "GLES3/")) or name in ("unistd.h", "fcntl.h"):
            continue  # the C library's; emscripten's own
        if name.endswith("intrin.h"):
            continue  # the compiler's own
        if name not in asked:
            # The two Debians have different major versions of Embree, whose headers say so in their folder.
            spelled = [re.sub(r"^embree[34]/", f"embree{major}/", name) for major in "34"]
            folders = ("/usr/include", "/usr/include/imgui", "/usr/include/pango-1.0")
            places = [os.path.join(folder, spelling) for folder in folders
                      for spelling in spelled]
            there = [place for place in places if os.path.exists(place)]
            asked[name] = owner(there[0]) if there else set()
        owners = asked[name]
        if not owners & listed and not any(of_the_system.match(package) for package in owners):
            wrong.append(f"{path}:{number}: {name} is from {', '.join(sorted(owners)) or 'no package'}, "
                         "which third_party/packages.txt does not list")
    return wrong


def unlisted_imports(root):
    """Each Python module from outside whose package has no row."""
    listed = {name for _, row in package_rows(root) for name in row[1].split(" / ")}
    scripts = [path for path in files(root) if path.endswith(".py")]
    own = {os.path.basename(path)[:-3] for path in scripts}
    wrong = []
    for path in scripts:
        for number, line in enumerate(text(root, path).split("\n"), 1):
            match = re.match(r"\s*(?:import|from)\s+(\w+)", line)
            name = match[1] if match else None
            if not name or name in sys.stdlib_module_names or name in own or name in ("bpy", "bmesh", "mathutils"):
                continue  # Blender brings its own three
            if f"python3-{name.lower()}" not in listed:
                wrong.append(f"{path}:{number}: python3-{name.lower()} is not in third_party/packages.txt")
    return wrong


def have(program):
    return shutil.which(program) is not None
