"""The house's promises (house.py), kept by this tree; and each check tried on something bad, which it must find."""
import os
import re
import subprocess
import sys
import tempfile
import unittest

import house

ROOT = os.path.normpath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
BUILD = os.environ.get("BOLTWALK_BUILD", "")
CORE = os.environ.get("BOLTWALK_CORE", "")
CORE_ONLY = os.environ.get("BOLTWALK_CORE_ONLY", "")


class House(unittest.TestCase):
    maxDiff = None

    def holds(self, wrong):
        self.assertEqual(wrong, [], "\n" + "\n".join(wrong))

    def found(self, check, contents, expected):
        """The check, on a tree of these files, finds exactly what is expected (a part of each line)."""
        with tempfile.TemporaryDirectory() as root:
            for path, content in contents.items():
                os.makedirs(os.path.dirname(os.path.join(root, path)) or root, exist_ok=True)
                with open(os.path.join(root, path), "w", encoding="utf-8") as file:
                    file.write(content)
            wrong = check(root)
        self.assertEqual(len(wrong), len(expected), wrong)
        for line, part in zip(wrong, expected):
            self.assertIn(part, line)


class Tree(House):
    def test_what_is_read(self):
        read = house.files(ROOT)
        self.assertIn("tests/house/house.py", read)
        with tempfile.TemporaryDirectory() as root:
            for folder in ("build-x", "out", "tests/outside", "tests/node_modules", "core/map"):
                os.makedirs(os.path.join(root, folder))
                with open(os.path.join(root, folder, "a"), "w", encoding="utf-8"):
                    pass
            self.assertEqual(house.files(root), ["core/map/a", "tests/outside/a"])

    def test_top_level(self):
        self.holds(house.top_level(ROOT))

    def test_top_level_finds_a_stray(self):
        there = {name: "" for name in house.TOP_LEVEL if "." in name or name == "LICENSE"}
        there |= {f"{name}/x": "" for name in house.TOP_LEVEL - set(there) if name != "assets"}
        self.found(house.top_level, there | {"notes.txt": ""}, ["notes.txt", "assets: missing"])

    def test_nothing_vendored(self):
        self.holds(house.vendored(ROOT))

    def test_vendored_source_is_found(self):
        notice = "// Copyr" + "ight (c) somebody\n"
        self.found(house.vendored, {"viewer/draw/stb_image.h": "", "core/map/a.cpp": notice, "third_party/x.c": ""},
                   ["core/map/a.cpp", "stb_image.h", "third_party/x.c"])

    def test_no_trace_of_a_machine(self):
        self.holds(house.machine_traces(ROOT))

    def test_a_trace_of_a_machine_is_found(self):
        host = "deb" + ".debian.org"
        self.found(house.machine_traces, {"a": "see " + "/ro" + "ot/x", "b": host, "c": "tests/work/x build/tmp/y"},
                   ["a:1", "b:1"])


class Arrows(House):
    def test_arrows_run_down(self):
        self.holds(house.arrows(ROOT))
        self.assertGreater(len(list(house.includes(ROOT))), 20)

    def test_an_arrow_up_is_found(self):
        self.found(house.arrows, {
            "core/map/a.cpp": '#include "core/measure/m.hpp"\n#include "core/job/j.hpp"\n',
            "core/log/b.cpp": '  #  include "core/sheet/s.hpp"\n',
            "viewer/scene/c.cpp": '#include "core/job/j.hpp"\n#include "viewer/draw/d.hpp"\n',
            "core/other/d.cpp": '#include "core/map/m.hpp"\n',
        }, ["core/log must not include core/sheet", "core/map/a.cpp:2: core/map must not include core/job",
            "no place in the house", "viewer/scene must not include viewer/draw"])


class Names(House):
    def test_one_type_a_name(self):
        self.holds(house.types_twice(ROOT))

    def test_a_name_of_two_types_is_found(self):
        begin, end = "namespace boltwalk {\n", "} // namespace boltwalk\n"
        self.found(house.types_twice, {
            "core/map/a.hpp": begin + "struct Frame {\n};\nstruct Other;\n" + end,
            "viewer/draw/b.hpp": begin + "class Frame {\n};\nstruct Other {\n};\n" + end,
            "core/map/c.cpp": begin + "namespace {\nstruct Frame {\n};\n} // namespace\n" + end,
            "core/map/d.hpp": "namespace boltwalk::reaching {\nstruct Frame {\n};\n} // namespace boltwalk::reaching\n",
        }, ["core/map/a.hpp:2, viewer/draw/b.hpp:2: boltwalk::Frame twice"])


class Screen(House):
    """core needs no screen: not in its sources, its symbols, nor in what a program made of it loads."""

    def test_sources(self):
        self.holds(house.screen_includes(ROOT))

    def test_a_screen_header_is_found(self):
        headers = ["epoxy/gl.h", "GL/gl.h", "GLFW/glfw3.h", "imgui.h", "EGL/egl.h", "backends/imgui_impl_glfw.h"]
        self.found(house.screen_includes, {"core/map/a.cpp": "".join(f"#include <{h}>\n" for h in headers),
                                           "viewer/draw/b.cpp": "#include <epoxy/gl.h>\n"}, headers)

    def test_symbols(self):
        self.holds(house.screen_symbols(CORE))

    def test_screen_symbols_are_found(self):
        with tempfile.TemporaryDirectory() as folder:
            source, object_file = os.path.join(folder, "a.cpp"), os.path.join(folder, "a.o")
            with open(source, "w", encoding="utf-8") as file:
                file.write('extern "C" { void glClear(unsigned); int glfwInit(); void globe(); }\n'
                           "namespace ImGui { void Text(); }\n"
                           "int f() { glClear(1); ImGui::Text(); globe(); return glfwInit(); }\n")
            subprocess.run(["c++", "-c", source, "-o", object_file], check=True)
            self.assertEqual(house.screen_symbols(object_file), ["_ZN5ImGui4TextEv", "glClear", "glfwInit"])

    def test_headers_that_the_compiler_read(self):
        deps = subprocess.run(["ninja", "-C", BUILD, "-t", "deps"], check=True, capture_output=True, text=True).stdout
        read = [block for block in deps.split("\n\n") if re.match(r"core/", block)]
        self.assertGreater(len(read), 5)
        wrong = [f"{block.split(':')[0]} reads {path}" for block in read
                 for path in re.findall(r"^    /usr/include/(\S+)", block, re.MULTILINE)
                 if house.SCREEN_HEADER.search(path)]
        self.holds(wrong)

    def test_what_a_program_of_core_alone_loads(self):
        self.assertIn("libstdc++.so.6", house.loaded(CORE_ONLY))
        self.holds(house.screen_loads(CORE_ONLY))

    def test_a_program_with_a_screen_is_found(self):
        with tempfile.TemporaryDirectory() as folder:
            source, program = os.path.join(folder, "a.cpp"), os.path.join(folder, "a")
            with open(source, "w", encoding="utf-8") as file:
                file.write("int main() {}\n")
            subprocess.run(["c++", source, "-o", program, "-Wl,--no-as-needed", "-lglfw", "-lepoxy"], check=True)
            self.assertEqual(sorted(name.split(".")[0] for name in house.screen_loads(program)),
                             ["libepoxy", "libglfw"])


class Format(House):
    def test_formatted(self):
        self.holds(house.unformatted(ROOT))

    def test_unformatted_is_found(self):
        with open(os.path.join(ROOT, ".clang-format"), encoding="utf-8") as file:
            style = file.read()
        self.found(house.unformatted, {".clang-format": style, "a.cpp": "int main( ) {}\n"}, ["a.cpp:1:"])


class Packages(House):
    def test_list(self):
        self.holds(house.package_list(ROOT))
        self.assertGreater(len(house.package_rows(ROOT)), 30)

    def test_a_bad_row_is_found(self):
        rows = ["run | good | | MIT | why", "run | good | | MIT | why", "run | bad | | | why", "x | bad | | MIT | why",
                "run | bad | MIT | why", "run | bad2 | | MIT |"]
        self.found(house.package_list, {"third_party/packages.txt": "\n".join(rows)},
                   ["2: good stands twice", "3: '' is no licence", "4: no tier 'x'", "5: 4 columns", "what for"])

    def test_every_header_from_outside_is_listed(self):
        self.holds(house.unlisted_includes(ROOT))

    def test_an_unlisted_header_is_found(self):
        self.found(house.unlisted_includes, {
            "third_party/packages.txt": "run | libglm-dev | | MIT | vectors",
            "core/a.cpp": "#include <vector>\n#include <stdio.h>\n#include <glm/glm.hpp>\n#include <fmt/format.h>\n",
        }, ["core/a.cpp:4: fmt/format.h is from libfmt-dev"])

    def test_every_python_module_is_listed(self):
        self.holds(house.unlisted_imports(ROOT))

    def test_an_unlisted_python_module_is_found(self):
        self.found(house.unlisted_imports, {"third_party/packages.txt": "test | python3-pint | | BSD-3-Clause | units",
                                            "tests/a.py": "import os\nimport pint\nfrom networkx import DiGraph\n"},
                   ["tests/a.py:3: python3-networkx"])


if __name__ == "__main__":
    for program in ("clang-format", "nm", "readelf", "dpkg-query", "ninja"):
        if not house.have(program):
            sys.exit(f"{program} is not there: run third_party/install test")
    unittest.main()
