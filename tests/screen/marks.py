#!/usr/bin/python3
"""The marking room's answers about what is alike and how the model lies, groups that the file does not have, photographs;
and how a photograph is shown with its step.

usage: marks.py PROGRAM MAP FOLDER [SCENARIO...]    (screenshots and the maps made go to FOLDER)
"""

import json
import math
import pathlib
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "shared"))
import camera
from drop import drop
from screen import Display, Failed, Window, expect, layout_faults, read_start_card_by_key
from steps import FOLDER, PROGRAM, SHIPPED, SIZES, change_map, confirm_everything, into_sight, json_of, strip_annotation, type_into


def run(*arguments):
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False)
    expect(done.returncode == 0, f"boltwalk {arguments}: {done.returncode} {done.stdout} {done.stderr}")
    return done.stdout


def marking(window):
    return window.state()["marking"]


def room(window):
    window.until(lambda r: r["state"]["marking"] is not None, "the room")
    window.until_still()


def pick_in_room(window, name):
    """By its name in the list."""
    room(window)
    window.press("mark.tab.nodes")
    type_into(window, "mark.find", name)
    window.press("mark.node." + name)
    window.until(lambda r: r["state"]["marking"]["picked"] == [name], "picked")


def save(window):
    window.press("mark.save")
    window.until(lambda r: not r["state"]["marking"]["unsaved"], "saved")
    return pathlib.Path(marking(window)["said"].removeprefix("Saved: "))


def is_whole(window):
    """The model lies in the drawing, and fills most of one side of it."""
    report = window.until_still()
    (x, y, w, h), (left, top, width, height) = report["model"], report["areas"]["drawing"]
    expect(left <= x and top <= y and x + w <= left + width and y + h <= top + height and (w > width * 0.5 or h > height * 0.5),
           f"the model is fitted: {report['model']} in {report['areas']['drawing']}")


def fresh(path):
    for left in (path, pathlib.Path(f"{path}.marking"), *path.parent.glob(path.stem + "_marked*")):
        left.unlink(missing_ok=True)
    return path


def product(a, b):
    return [[sum(a[r][k] * b[k][c] for k in range(4)) for c in range(4)] for r in range(4)]


def worlds(document):
    """By node: its matrix in the scene, row by row. glTF 2.0, section 3.5.3: translation, rotation, scale."""
    nodes = document["nodes"]
    found = [None] * len(nodes)

    def walk(index, above):
        node = nodes[index]
        x, y, z, w = node.get("rotation", (0, 0, 0, 1))
        s, t = node.get("scale", (1, 1, 1)), node.get("translation", (0, 0, 0))
        turn = [[1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
                [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
                [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)]]
        own = [[turn[r][c] * s[c] for c in range(3)] + [t[r]] for r in range(3)] + [[0, 0, 0, 1]]
        if "matrix" in node:
            own = [[node["matrix"][4 * c + r] for c in range(4)] for r in range(4)]
        found[index] = product(above, own)
        for child in node.get("children", ()):
            walk(child, found[index])

    for root in document["scenes"][document.get("scene", 0)]["nodes"]:
        walk(root, [[float(r == c) for c in range(4)] for r in range(4)])
    return found


def place(world):
    return [world[r][3] for r in range(3)]


# --- scenarios


def built_model():
    """A plate with six screws round a circle and five along a row: what it is, and the nodes of the screws."""
    recipe = FOLDER / "alike.toml"
    recipe.write_text("""
plate = { part = true, fixed = true, plate = [400, 300, 20] }
[ring]
standard = "ISO 4017 M8x16"
on = "top of plate"
circle = { count = 6, diameter = 120 }
holds = "plate"
[line]
standard = "ISO 4762 M6x12"
on = "top of plate, 20 from rear, 60 from left"
row = { count = 5, step = 40, towards = "right" }
holds = "plate"
""")
    built = FOLDER / "alike_built.glb"
    run("block", recipe, "-o", built)
    nodes = json_of(built)["nodes"]
    screws = [i for i, n in enumerate(nodes) if "mesh" in n and n["name"] != "plate"]
    expect(len(screws) == 11, f"11 screws: {[nodes[i]['name'] for i in screws]}")
    return built, screws


def numbers_what_is_alike(display):
    """Nameless screws, shuffled in the file: round a circle clockwise as seen onto their heads from the rearmost or foremost
    on, along a row from one end to the other. The order is that of core/propose/propose.hpp."""
    built, screws = built_model()

    def shuffle(document):
        strip_annotation(document)
        for kind in (screws[:6], screws[6:]):
            # Every second one, then the others: as in no count.
            order = kind[::2] + kind[1::2]
            places = [document["nodes"][i].get("translation") for i in kind]
            for i, where in zip(order, places):
                document["nodes"][i]["translation"] = where
        for i in screws:
            document["nodes"][i]["name"] = "Body"

    bare = fresh(FOLDER / "alike.glb")
    change_map(bare.name, shuffle, of=built)
    with Window(PROGRAM, display, bare, "--mark") as window:
        room(window)
        expect(marking(window)["proposals"] == 11, f"11 are proposed: {marking(window)}")
        for left in (11, 0):
            if marking(window)["proposals"] == 0:
                break
            first = next(c["id"] for c in window.report()["controls"] if c["id"].startswith("mark.proposal."))
            window.press(first)
            window.until(lambda r: any(c["id"] == "mark.alike" for c in r["controls"]), "its form")
            window.until_still()
            # All of its shape can be picked by one press.
            window.press("mark.alike")
            window.until(lambda r: len(r["state"]["marking"]["picked"]) in (5, 6), "all like it are picked")
            window.until_still()
            window.shot(FOLDER / f"alike_{left}.png")
            window.press(first)
            window.until(lambda r: len(r["state"]["marking"]["picked"]) == 1, "one again")
            window.until_still()
            before = marking(window)["proposals"]
            window.press("mark.take_alike")
            window.until(lambda r: r["state"]["marking"]["proposals"] < before, "taken")
            window.until_still()
        made = save(window)
    document = json_of(made)
    found = worlds(document)
    kinds = {}
    for i in screws:
        name = document["nodes"][i]["name"]
        stem, number = name.rsplit("_", 1)
        kinds.setdefault(stem, {})[int(number)] = place(found[i])
    expect(sorted(len(k) for k in kinds.values()) == [5, 6], f"two kinds, numbered: {kinds}")
    for numbered in kinds.values():
        expect(sorted(numbered) == list(range(1, len(numbered) + 1)), f"numbered from 1 without a gap: {sorted(numbered)}")
        places = [numbered[n] for n in sorted(numbered)]
        if len(places) == 5:
            xs = [p[0] for p in places]
            steps = [b - a for a, b in zip(xs, xs[1:])]
            expect(all(abs(abs(s) - 0.04) < 1e-6 for s in steps) and len({s > 0 for s in steps}) == 1,
                   f"along the row: {xs}")
            expect(xs[0] > xs[-1], f"left (+X) to right: {xs}")
            continue
        # Seen from above with the front (+Z) at the foot of the picture, +X lies to the right: clockwise is from +Z to -X.
        angles = [math.atan2(p[0], -p[2]) for p in places]
        turns = [(b - a) % (2 * math.pi) for a, b in zip(angles, angles[1:])]
        expect(all(abs(t - math.pi / 3) < 1e-3 for t in turns), f"a sixth of a turn clockwise each: {turns}")
        expect(max(p[2] for p in places) - places[0][2] < 1e-6, f"from the foremost: {places}")


def turns_a_model_in_millimetres(display):
    """A model as a tool without glTF's axes would have written it: millimetres, Z up. It is asked, and lies as it was
    built once both are answered; undone, it lies as it came."""
    half = math.sqrt(0.5)

    def lay_down(document):
        strip_annotation(document)
        scene = document["scenes"][document.get("scene", 0)]
        # +Y up becomes +Z up: a quarter turn about +X.
        document["nodes"].append({"name": "as_drawn", "children": scene["nodes"], "scale": [1000] * 3,
                                  "rotation": [half, 0, 0, half]})
        scene["nodes"] = [len(document["nodes"]) - 1]

    built, _ = built_model()
    drawn = fresh(FOLDER / "drawn.glb")
    change_map(drawn.name, lay_down, of=built)
    wanted = [place(w) for w in worlds(json_of(built))]
    with Window(PROGRAM, display, drawn, "--mark") as window:
        room(window)
        expect(marking(window)["asks_scale"], f"it is asked about the scale: {marking(window)}")
        for name, on in (("turn_1.png", False), ("turn_1_why.png", True)):
            if on:
                window.press("mark.why")
                window.until(lambda r: any(c["id"] == "mark.why" and c["on"] for c in r["controls"]), "why")
                window.until_still()
            window.shot(FOLDER / name)
            faults = layout_faults(window.report(), glove=False)
            expect(not faults, "\n".join(faults))
        window.press("mark.yes")
        window.until(lambda r: not r["state"]["marking"]["asks_scale"], "answered")
        window.until_still()
        is_whole(window)
        expect(marking(window)["asks_up"], f"it is asked which way is up: {marking(window)}")
        window.shot(FOLDER / "turn_2.png")
        window.press("mark.yes")
        window.until(lambda r: not r["state"]["marking"]["asks_up"], "answered")
        window.until_still()
        window.shot(FOLDER / "turn_3.png")
        is_whole(window)
        expect(marking(window)["deeds"] == 2 and marking(window)["proposals"] > 5, f"and looked at anew: {marking(window)}")
        # Turned and moved by hand, it is left as it is.
        x, y, w, h = window.report()["areas"]["drawing"]
        window.click_at(x + w / 2, y + h / 2, 5)
        window.until_still()
        before = window.report()["model"]
        window.press("mark.node.plate")
        window.until(lambda r: r["state"]["marking"]["picked"] == ["plate"], "picked")
        window.until_still()
        expect(window.report()["model"] == before, "the drawing does not jump back")
        window.press("mark.undo")
        window.until(lambda r: r["state"]["marking"]["asks_up"], "asked again")
        window.until_still()
        window.press("mark.redo")
        window.until(lambda r: not r["state"]["marking"]["asks_up"], "done again")
        window.until_still()
        made = save(window)
    document = json_of(made)
    found = worlds(document)
    for i, where in enumerate(wanted):
        far = max(abs(a - b) for a, b in zip(place(found[i]), where))
        expect(far < 1e-5, f"{document['nodes'][i].get('name')} lies {far} m from where it was built")


def makes_a_group_of_what_is_picked(display):
    """A node that the file does not have: named, undone, done again, saved, and its members inherit."""
    bare = fresh(FOLDER / "to_group.glb")
    change_map(bare.name, strip_annotation)
    with Window(PROGRAM, display, bare, "--mark") as window:
        room(window)
        confirm_everything(window)
        window.press("mark.tab.nodes")
        type_into(window, "mark.find", "pulley_bolt_")
        window.press("mark.all")
        window.until(lambda r: len(r["state"]["marking"]["picked"]) >= 3, "picked")
        window.until_still()
        picked = marking(window)["picked"]
        deeds = marking(window)["deeds"]
        type_into(window, "mark.group.title", "Bolts of the pulley")
        window.until_still()
        window.shot(FOLDER / "group_1.png")
        window.press("mark.group.make")
        window.until(lambda r: r["state"]["marking"]["picked"] == ["bolts_of_the_pulley"], "it is what is picked")
        window.until_still()
        expect(marking(window)["deeds"] == deeds + 1, f"one deed: {marking(window)}")
        window.shot(FOLDER / "group_2.png")
        window.press("mark.undo")
        window.until(lambda r: r["state"]["marking"]["deeds"] == deeds and not r["state"]["marking"]["picked"], "undone")
        window.press("mark.redo")
        window.until(lambda r: r["state"]["marking"]["deeds"] == deeds + 1, "done again")
        window.until_still()
        type_into(window, "mark.find", "bolts_of")
        window.press("mark.node.bolts_of_the_pulley")
        window.until(lambda r: r["state"]["marking"]["picked"] == ["bolts_of_the_pulley"], "picked by its row")
        type_into(window, "mark.key.torque", "10 N.m")
        window.key("Return")
        window.until(lambda r: r["state"]["marking"]["deeds"] == deeds + 2, "its torque is said")
        made = save(window)
    nodes = json_of(made)["nodes"]
    group = next(n for n in nodes if n["name"] == "bolts_of_the_pulley")
    expect(group["extras"]["group"] == "Bolts of the pulley" and sorted(nodes[c]["name"] for c in group["children"]) == sorted(picked),
           f"a node above those picked: {group}")
    steps = json.loads(subprocess.run([PROGRAM, "order", str(made), "--refit", "--json"], capture_output=True, text=True, check=False).stdout)["steps"]
    torques = {h["torque"] for s in steps if "olts of the pulley" in s["headline"] for h in s["hardware"]} - {""}
    expect(torques == {"10 N·m"}, f"its members inherit: {torques}")


def drawn_photo(name):
    path = FOLDER / name
    path.write_bytes(camera.scene())
    return path


def adds_a_photograph(display):
    """Named in the room, shown small and large, undone and done again, saved; taken out again."""
    picture = drawn_photo("from below.png")
    plain = fresh(FOLDER / "to_photograph.glb")
    plain.write_bytes(SHIPPED.read_bytes())
    with Window(PROGRAM, display, plain, "--mark") as window:
        pick_in_room(window, "water_pump")
        window.until_still()
        type_into(window, "mark.photo.path", str(FOLDER / "none.jpg"))
        window.press("mark.photo.add")
        window.until(lambda r: "cannot be read" in r["state"]["marking"]["said"], "it is not there")
        type_into(window, "mark.photo.path", str(picture))
        window.press("mark.photo.add")
        window.until(lambda r: r["state"]["marking"]["deeds"] == 1, "it is in")
        window.until_still()
        into_sight(window, "photo.small.from_below")
        window.shot(FOLDER / "photo_mark.png")
        faults = layout_faults(window.report(), glove=False)
        expect(not faults, "\n".join(faults))
        window.press("photo.small.from_below")
        window.until_state(photo="from_below")
        window.until_still()
        window.shot(FOLDER / "photo_mark_large.png")
        window.key("Escape")
        window.until_state(photo="")
        expect(marking(window)["picked"] == ["water_pump"], "what was picked is still")
        window.press("mark.undo")
        window.until(lambda r: r["state"]["marking"]["deeds"] == 0, "undone")
        window.press("mark.redo")
        window.until(lambda r: r["state"]["marking"]["deeds"] == 1, "done again")
        window.until_still()
        made = save(window)
    expect("from_below: 800 x 600" in run("photo", made), "it is in the saved map")
    with Window(PROGRAM, display, made, "--mark") as window:
        pick_in_room(window, "water_pump")
        into_sight(window, "mark.photo.out.from_below")
        window.press("mark.photo.out.from_below")
        window.until(lambda r: r["state"]["marking"]["deeds"] == 1, "out")
        second = save(window)
    expect(second.name == "to_photograph_marked_2.glb", f"the first one is left alone: {second}")
    expect("no photographs" in run("photo", second), "it is out of the map saved then")


def takes_what_is_dropped(display):
    """Pictures belong to what is picked in the marking room; elsewhere a picture is told to be none, and a map is opened."""
    pictures = [drawn_photo("dropped one.png"), drawn_photo("dropped %C3 two.png")]
    plain = fresh(FOLDER / "to_drop_on.glb")
    plain.write_bytes(SHIPPED.read_bytes())
    x, y = display.width // 2, display.height // 2
    with Window(PROGRAM, display) as window:
        window.until(lambda r: any(c["id"] == "path.field" for c in r["controls"]), "nothing is open")
        drop(display.name, pictures[:1], x, y)
        window.until(lambda r: "dropped one.png: a picture is no map" in r["state"]["error"], "what a picture is for")
        window.until_still()
        window.shot(FOLDER / "dropped_no_map.png")
        drop(display.name, [plain], x, y)
        window.until_state(open=True, error="")
        window.key("F7")
        room(window)
        drop(display.name, pictures[:1], x, y)
        window.until(lambda r: r["state"]["marking"]["said"] != "", "nothing is picked: it is said")
        window.until_still()
        window.shot(FOLDER / "dropped_on_nothing.png")
        faults = layout_faults(window.report(), glove=False)
        expect(not faults, "\n".join(faults))
        expect(marking(window)["deeds"] == 0, f"and nothing was done: {marking(window)}")
        pick_in_room(window, "water_pump")
        drop(display.name, pictures, x, y)
        window.until(lambda r: r["state"]["marking"]["deeds"] == 2, "both are in")
        window.until_still()
        window.shot(FOLDER / "dropped.png")
        made = save(window)
    listed = run("photo", made)
    expect(all(name in listed for name in ("dropped_one: 800 x 600", "two: 800 x 600")), f"they are in the saved map: {listed}")


def shows_photographs_with_their_step(display):
    """At the step's card small, one press large, Escape or any key of the walk closes it and does nothing else."""
    path = fresh(FOLDER / "photographed.glb")
    pictures = [drawn_photo("one.png"), drawn_photo("two.png")]
    run("photo", SHIPPED, *pictures, "--node", first_group(), "-o", path)
    pathlib.Path(f"{path}.boltlog").unlink(missing_ok=True)
    for night in (False, True):
        with Window(PROGRAM, display, path, *(["--night"] if night else [])) as window:
            read_start_card_by_key(window)
            for _ in range(40):
                window.until_still()
                if any(c["id"].startswith("photo.small.") for c in window.report()["controls"]) or photo_below(window):
                    break
                window.key("period")
            else:
                raise Failed("no step shows the photographs")
            into_card(window, "photo.small.one")
            size = f"{display.width}x{display.height}{'_night' if night else ''}"
            window.shot(FOLDER / f"photo_card_{size}.png")
            faults = layout_faults(window.report(), glove=False)
            expect(not faults, "\n".join(faults))
            at, entries = window.state()["at"], window.state()["entries"]
            window.press("photo.small.one")
            window.until_state(photo="one")
            report = window.until_still()
            window.shot(FOLDER / f"photo_large_{size}.png")
            faults = layout_faults(report, glove=False)
            expect(not faults, "\n".join(faults))
            expect(report["controls"] and {c["id"] for c in report["controls"]} == {"photo.close", "photo.next"},
                   f"nothing else can be pressed: {[c['id'] for c in report['controls']]}")
            window.press("photo.next")
            window.until_state(photo="two")
            window.key("Escape")
            window.until_state(photo="")
            # The main key only uncovers the step.
            into_card(window, "photo.small.one")
            window.press("photo.small.one")
            window.until_state(photo="one")
            window.until_still()
            window.key("space")
            window.until_state(photo="")
            window.until_still()
            expect((window.state()["at"], window.state()["entries"]) == (at, entries), "and nothing was entered")


def first_group():
    """A group of bolts of the demo map."""
    return next(n["name"] for n in json_of(SHIPPED)["nodes"] if n.get("extras", {}).get("group"))


def photo_below(window):
    """The card may have to be turned to it."""
    return any(c["id"].startswith("photo.small.") and c["cut"] for c in window.report()["controls"])


def into_card(window, name):
    window.until_still()
    for button in [5] * 30 + [4] * 60:
        control = window.control(name)
        if control is not None and not control["cut"]:
            return
        x, y, w, h = window.report()["areas"]["card"]
        window.click_at(x + w / 2, y + h / 2, button)
        window.until_still()
    raise Failed(f"{name} never comes into sight")


def saves_over_nothing_of_anybodys(display):
    """Another evening's file is there: the name proposed is a free one, and typed, it is asked about. What was saved is
    what is walked through afterwards, and marked up next."""
    mine = fresh(FOLDER / "to_save.glb")
    change_map(mine.name, strip_annotation)
    theirs = FOLDER / "to_save_marked.glb"
    theirs.write_bytes(b"another evening's work")
    with Window(PROGRAM, display, mine, "--mark") as window:
        room(window)
        expect(marking(window)["save_to"] == str(FOLDER / "to_save_marked_2.glb"), f"a free name: {marking(window)['save_to']}")
        pick_in_room(window, "hose")
        window.press("mark.as.Part")
        window.until(lambda r: r["state"]["marking"]["deeds"] == 1, "a part")
        window.until_still()
        type_into(window, "mark.path", str(theirs))
        window.until_still()
        window.press("mark.save")
        window.until(lambda r: r["state"]["marking"]["asks_replace"], "it is asked")
        window.until_still()
        for light in ("day", "night"):
            window.shot(FOLDER / f"save_asks_{light}.png")
            faults = layout_faults(window.report(), glove=False)
            expect(not faults, "\n".join(faults))
            window.press("mark.day")
            window.until_still()
        expect(theirs.name in marking(window)["said"], f"by its name: {marking(window)['said']}")
        window.key("ctrl+s")  # no key is the answer
        x, y, w, h = window.control("mark.save")["box"]
        window.click_at(x + w / 2, y + h / 2)  # nor a second click where the first one was
        window.until_still()
        expect(theirs.read_bytes() == b"another evening's work", "nothing was written yet")
        window.press("mark.replace")
        window.until(lambda r: not r["state"]["marking"]["unsaved"], "saved")
        expect(json_of(theirs)["nodes"], "it is a map now")
        window.press("mark.leave")
        window.until(lambda r: r["state"]["marking"] is None and r["state"]["opening"] is None, "the walk")
        window.until_still()
        window.shot(FOLDER / "save_left.png")
        window.key("F7")
        room(window)
        expect(marking(window)["save_to"] == str(theirs), f"what was saved is marked up: {marking(window)}")
        pick_in_room(window, "hose")
        expect(window.control("mark.as.Part")["on"], "and it is the part that it was made")


def answers_stand_still(display):
    """A proposal's buttons are in one place, however much is said of it; what the findings are is said above them."""
    bare = fresh(FOLDER / "to_answer.glb")
    change_map(bare.name, strip_annotation)
    with Window(PROGRAM, display, bare, "--mark") as window:
        room(window)
        places = set()
        for one in [c["id"] for c in window.report()["controls"] if c["id"].startswith("mark.proposal.")][:4]:
            window.press(one)
            window.until(lambda r: any(c["id"] == "mark.take" for c in r["controls"]), "its proposal")
            window.until_still()
            window.shot(FOLDER / f"answer_{len(places)}.png")
            places.add(tuple(window.control("mark.take")["box"]))
        expect(len(places) == 1, f"Take it stays where it is: {places}")
        window.press("mark.tab.findings")
        window.until_still()
        window.shot(FOLDER / "answer_findings.png")
        faults = layout_faults(window.report(), glove=False)
        expect(not faults, "\n".join(faults))
        window.press("mark.leave")
        window.until(lambda r: r["state"]["marking"] is None, "the walk")
        window.until_still()
        # A file that says nothing leads here.
        window.press("card.mark")
        room(window)


def names_what_it_speaks_of(display):
    """Titles beside names, the meaning of a key, the shapes of a group, Escape one thing at a time."""
    plain = fresh(FOLDER / "to_name.glb")
    plain.write_bytes(SHIPPED.read_bytes())
    nodes = json_of(plain)["nodes"]
    group = first_group()
    members = sorted(n["name"] for n in nodes if nodes.index(n) in next(g for g in nodes if g.get("name") == group)["children"])
    with Window(PROGRAM, display, plain, "--mark") as window:
        pick_in_room(window, group)
        expect(sorted(marking(window)["marked"]) == members, f"its members are marked: {marking(window)['marked']} {members}")
        window.until_still()
        for light in ("day", "night"):
            window.shot(FOLDER / f"name_group_{light}.png")
            window.press("mark.day")
            window.until_still()
        pick_in_room(window, "water_pump")
        title = next(n["extras"]["part"] for n in nodes if n["name"] == "water_pump")
        expect(window.control("mark.node.water_pump")["label"] == f"{title} (water_pump)", f"{window.control('mark.node.water_pump')}")
        # A kind that is only chosen has no title yet; typing gives it one.
        pick_in_room(window, "hose")
        window.press("mark.as.Task")
        window.until(lambda r: any(c["id"] == "mark.key.task" for c in r["controls"]), "a task")
        window.until_still()
        expect(window.control("mark.key.task")["label"] == "", f"an empty field: {window.control('mark.key.task')}")
        type_into(window, "mark.key.task", "Let it cool")
        window.until_still()
        window.shot(FOLDER / "name_meaning.png")
        window.key("Return")
        window.until_still()
        expect(window.control("mark.node.hose")["label"] == "Let it cool (hose)", f"its title: {window.control('mark.node.hose')}")
        # A title where a name is wanted.
        into_sight(window, "mark.key.after")
        type_into(window, "mark.key.after", title)
        expect(marking(window)["typed"] == 0, "a title is understood")
        window.key("Return")
        window.until(lambda r: any(c["id"] == "mark.key.after" and c["label"] == "water_pump" for c in r["controls"]), "it is the node's name")
        window.until_still()
        into_sight(window, "mark.offers.after")
        window.press("mark.offers.after")
        window.until(lambda r: r["state"]["marking"]["offering"] == "after", "the choices")
        window.until_still()
        window.shot(FOLDER / "name_offers.png")
        faults = layout_faults(window.report(), glove=False)
        expect(not faults, "\n".join(faults))
        window.key("Escape")
        window.until(lambda r: r["state"]["marking"]["offering"] == "" and r["state"]["marking"]["picked"] == ["hose"], "only the list goes")
        into_sight(window, "mark.offers.after")  # the form is shorter by the list, and settles first
        window.press("mark.offers.after")
        window.until(lambda r: r["state"]["marking"]["offering"] == "after", "the choices again")
        window.press("mark.node.hose")  # the list shows it alone: nothing else is picked
        pick_in_room(window, "water_pump")
        window.until(lambda r: r["state"]["marking"]["offering"] == "", "they were for the other one")
        window.key("Escape")
        window.until(lambda r: not r["state"]["marking"]["picked"], "let go")


def turns_to_what_a_field_says(display):
    """The lowest field in sight: what its key means stands below it, and comes into sight."""
    mine = fresh(FOLDER / "to_read.glb")
    mine.write_bytes(SHIPPED.read_bytes())
    with Window(PROGRAM, display, mine, "--mark") as window:
        pick_in_room(window, "water_pump")
        into_sight(window, "mark.key.part")
        fields = [c for c in window.until_still()["controls"] if c["id"].startswith("mark.key.") and not c["cut"]]
        name = max(fields, key=lambda c: c["box"][1])["id"]

        def room_below():
            x, y, w, h = window.control(name)["box"]
            return window.control("mark.form.more")["box"][1] - (y + h)

        before = room_below()
        line = window.control(name)["box"][3] / 2  # a field is at least two lines of its words high
        expect(before < 3 * line, f"{name} is the lowest: {before} px below it")
        window.press(name)
        window.until_state(typing=True)
        window.until_still()
        window.shot(FOLDER / "to_read.png")
        expect(room_below() > before + line, f"{name}: what it means came into sight: {before} px below it, now {room_below()}")


def main():
    FOLDER.mkdir(parents=True, exist_ok=True)
    tests = [numbers_what_is_alike, turns_a_model_in_millimetres, makes_a_group_of_what_is_picked, adds_a_photograph, takes_what_is_dropped,
             saves_over_nothing_of_anybodys, answers_stand_still, names_what_it_speaks_of, turns_to_what_a_field_says]
    failed = 0

    def tried(test, display):
        nonlocal failed
        begun = time.monotonic()
        try:
            test(display)
            print(f"passed  {test.__name__}  ({time.monotonic() - begun:.1f} s)", flush=True)
        except Failed as failure:
            failed += 1
            print(f"FAILED  {test.__name__}\n        " + str(failure).replace("\n", "\n        "), flush=True)

    only = sys.argv[4:]
    for size in SIZES:
        with Display(*size) as display:
            for test in (tests if size == SIZES[0] else []) + [shows_photographs_with_their_step]:
                if not only or test.__name__ in only:
                    tried(test, display)
    print(f"screenshots: {FOLDER}")
    sys.exit(1 if failed else 0)


main()
