"""The program as a script meets it: exit codes, JSON, what reaches a terminal. Run by ctest: commands.py PROGRAM ASSETS."""

import base64
import csv
import json
import os
import re
import struct
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "shared"))
import camera

PROGRAM, ASSETS = sys.argv[1], sys.argv[2]
BIG = os.path.join(ASSETS, "transfer_box.glb")
SMALL = os.path.join(ASSETS, "water_pump.glb")
GOOD, FINDINGS, UNREADABLE, USAGE = 0, 1, 2, 64


def run(*arguments, **more):
    return subprocess.run([PROGRAM, *arguments], capture_output=True, **more)


def nodes_of(path):
    with open(path, "rb") as file:
        data = file.read()
    (length,) = struct.unpack("<I", data[12:16])
    return json.loads(data[20:20 + length])["nodes"]


def write_lid_over_block(path, **more):
    """A block on a plate, a lid over it, a screw each: the block's way is up. `more`: extras by node."""
    faces = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    corners = [(x, y, z) for x in (-.5, .5) for y in (-.5, .5) for z in (-.5, .5)]
    triangles = [corners[i] for f in faces for i in (f[0], f[1], f[2], f[0], f[2], f[3])]
    items = {"plate": ((.6, .02, .6), (0, -.01, 0), {"part": "Plate", "fixed": True}),
             "block": ((.05, .05, .05), (0, .0255, 0), {"part": "Block", "way": "up 200 mm"}),
             "lid": ((.2, .01, .2), (0, .08, 0), {"part": "Lid", "way": "up 200 mm"}),
             "block_screw": ((.013, .006, .013), (.16, .004, 0),
                             {"fastener": "screw", "holds": "block; plate", "drive": "hex 10", "head": "hex"}),
             "lid_screw": ((.013, .006, .013), (.25, .004, 0),
                           {"fastener": "screw", "holds": "lid; plate", "drive": "hex 10", "head": "hex"})}
    nodes = [{"name": name, "mesh": i, "translation": place, "extras": {**extras, **more.get(name, {})}}
             for i, (name, (_, place, extras)) in enumerate(items.items())]
    sizes = [size for size, _, _ in items.values()]
    data = b"".join(struct.pack("<3f", *(c * s for c, s in zip(point, size))) for size in sizes for point in triangles)
    each = 12 * len(triangles)
    gltf = {"asset": {"version": "2.0"}, "scene": 0, "nodes": nodes,
            "scenes": [{"nodes": list(range(len(nodes))), "extras": {"job": "Block out", "target": "block"}}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": i}}]} for i in range(len(sizes))],
            "accessors": [{"bufferView": i, "componentType": 5126, "count": len(triangles), "type": "VEC3",
                           "min": [-s / 2 for s in size], "max": [s / 2 for s in size]} for i, size in enumerate(sizes)],
            "bufferViews": [{"buffer": 0, "byteOffset": i * each, "byteLength": each} for i in range(len(sizes))],
            "buffers": [{"byteLength": len(data),
                         "uri": "data:application/octet-stream;base64," + base64.b64encode(data).decode()}]}
    with open(path, "w", encoding="utf-8") as file:
        json.dump(gltf, file)
    return path


class Commands(unittest.TestCase):

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.out = os.path.join(self.folder.name, "out.glb")

    def tearDown(self):
        self.folder.cleanup()

    def changed(self, node, *changes):
        done = run("set", BIG, "--node", node, *changes, "-o", self.out)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        return self.out

    def test_both_maps_are_clean(self):
        for path in (BIG, SMALL):
            done = run("check", path, "--strict", "--no-estimates")
            self.assertEqual(done.returncode, GOOD, done.stdout)
            self.assertIn(b"0 faults, 0 doubts", done.stdout)

    def test_shapes_give_doubts_and_never_a_fault(self):
        for path in (BIG, SMALL):
            done = run("check", path, "--json")
            self.assertEqual(done.returncode, GOOD, done.stdout)
            for finding in json.loads(done.stdout)["findings"]:
                if finding["weight"] == "doubt":
                    self.assertIn(finding["rule"], ("in-the-way", "out-of-reach"))
                    self.assertEqual(finding["key"], "not_in_way")
                    self.assertGreaterEqual(len(finding["nodes"]), 2)

    def leaves(self, path, *more):
        steps = json.loads(run("order", path, "--json", *more).stdout)["steps"]
        return [name for step in steps for name in step["items"]], {step["items"][0]: step for step in steps
                                                                    if step["items"]}

    def test_order_tells_what_is_stated_and_what_is_estimated(self):
        path = write_lid_over_block(self.out + ".gltf")
        items, steps = self.leaves(path)
        self.assertEqual(items, ["lid_screw", "lid", "block_screw", "block"])
        self.assertEqual((steps["lid"]["why_from"], steps["lid"]["why_rule"]), ("estimated", "in-the-way"))
        self.assertEqual((steps["lid_screw"]["why_from"], steps["lid_screw"]["why_rule"]), ("stated", "joined"))
        self.assertEqual(steps["block"]["why_from"], "")
        text = run("order", path).stdout
        self.assertIn(b"(estimated from the shapes)", text)
        self.assertIn(b"(stated)", text)
        items, steps = self.leaves(path, "--no-estimates")
        self.assertEqual(items, ["block_screw", "block"])
        self.assertNotIn("estimated", {step["why_from"] for step in steps.values()})
        self.assertNotIn(b"estimated", run("order", path, "--no-estimates").stdout)
        # Only what must come off for it, and with the least crawling, by the same rules.
        self.assertEqual(sorted(self.leaves(path, "--for", "block")[0]), ["block", "block_screw", "lid", "lid_screw"])
        self.assertLess(self.leaves(path, "--least-crawling")[0].index("lid"), 3)

    def test_stated_wins_over_the_shapes_and_a_pair_can_be_overruled(self):
        path = write_lid_over_block(self.out + ".gltf", lid_screw={"after": "block", "from": "over"})
        done = run("check", path, "--json")
        self.assertEqual(done.returncode, GOOD, done.stdout)
        doubts = [f for f in json.loads(done.stdout)["findings"] if f["weight"] == "doubt"]
        self.assertEqual([(f["rule"], f["nodes"]) for f in doubts], [("in-the-way", ["block", "lid"])])
        self.assertIn("Mend the shapes", doubts[0]["remedy"])
        self.assertIn("`not_in_way` = lid on block", doubts[0]["remedy"])
        self.assertIn("up 200 mm", doubts[0]["why"])
        self.assertEqual(self.leaves(path)[0], ["block_screw", "block"])
        self.assertIn(b"doubt", run("order", path).stderr)
        self.assertEqual(run("check", path, "--strict").returncode, FINDINGS)
        self.assertEqual(run("check", path, "--strict", "--no-estimates").returncode, GOOD)
        path = write_lid_over_block(self.out + ".gltf", lid_screw={"after": "block", "from": "over"},
                                    block={"not_in_way": "lid"})
        self.assertEqual(run("check", path, "--strict").returncode, GOOD)

    def test_a_fault_is_1_and_is_told_by_order_too(self):
        path = self.changed("skid_bolts", "holds=skid_plate;frme")
        self.assertEqual(run("check", path).returncode, FINDINGS)
        for way in ([], ["--refit"]):
            done = run("order", path, *way)
            self.assertEqual(done.returncode, FINDINGS)
            self.assertIn(b"reading this map", done.stderr)

    def test_hidden_says_what_hides_and_when_it_shows(self):
        done = run("hidden", BIG, "--json", "--all")
        self.assertEqual(done.returncode, GOOD, done.stderr)
        told = json.loads(done.stdout)
        self.assertTrue(told["estimated"])
        hidden = {one["node"]: one for one in told["hidden"]}
        plug = hidden["drain_plug"]
        self.assertEqual(plug["hidden_by"][0]["node"], "skid_plate")
        self.assertTrue(plug["in_view"])
        self.assertLess(plug["seen"], told["hidden_below"])
        self.assertGreaterEqual(plug["most_in_view"]["seen"], told["hidden_below"])
        self.assertEqual({one["node"] for one in told["fasteners"] if one.get("hidden")} & {"drain_plug", "skid_bolt_1"},
                         {"drain_plug"})
        later = run("hidden", BIG, "--json", "--step", str(plug["most_in_view"]["after_step"]))
        self.assertNotIn("drain_plug", [one["node"] for one in json.loads(later.stdout)["hidden"]])
        self.assertIn(b"estimated", run("hidden", SMALL).stdout)
        self.assertEqual(run("hidden", SMALL, "--step", "9999").returncode, USAGE)
        self.assertEqual(run("hidden", "no_such.glb").returncode, UNREADABLE)

    def test_page_carries_program_and_map_or_says_what_to_run(self):
        built, out = os.path.join(self.folder.name, "web"), os.path.join(self.folder.name, "F.html")
        done = run("page", SMALL, "-o", out, "--built", built)
        self.assertEqual(done.returncode, UNREADABLE)
        self.assertIn(b"viewer/web/build", done.stderr)
        self.assertFalse(os.path.exists(out))
        os.mkdir(built)
        program = bytes(range(256))
        with open(os.path.join(built, "boltwalk.wasm"), "wb") as file:
            file.write(program)
        with open(os.path.join(built, "index.html"), "w", encoding="utf-8") as file:
            file.write("<p>before</p><!-- place of what is carried --><p>after</p>")
        done = run("page", SMALL, "-o", out, "--built", built)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        with open(out, encoding="utf-8") as file:
            page = file.read()
        carried = re.findall(r'<script type="application/octet-stream" ([^>]*)>([^<]*)</script>', page)
        self.assertEqual([kind for kind, _ in carried],
                         ['id="carried-program"', 'class="carried-map" data-name="water_pump.glb"'])
        self.assertEqual(base64.b64decode(carried[0][1], validate=True), program)
        with open(SMALL, "rb") as file:
            self.assertEqual(base64.b64decode(carried[1][1], validate=True), file.read())
        self.assertEqual(run("page", "no_such.glb", "-o", out, "--built", built).returncode, UNREADABLE)

    def recipe(self, text):
        path = os.path.join(self.folder.name, "r.toml")
        with open(path + ".new", "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(path + ".new", path)
        return path

    def test_block_builds_the_first_map_and_it_is_clean(self):
        done = run("block", os.path.join(ASSETS, "first.toml"), "-o", self.out)
        self.assertEqual((done.returncode, done.stderr), (GOOD, b""))
        self.assertIn(b"fasteners", done.stdout)
        checked = run("check", self.out, "--strict")
        self.assertEqual(checked.returncode, GOOD, checked.stdout)
        for way in ([], ["--refit"]):
            self.assertEqual(run("order", self.out, *way).returncode, GOOD)
        hidden = json.loads(run("hidden", self.out, "--json").stdout)
        self.assertIn("hidden_bolt", [one["node"] for one in hidden["hidden"]])

    def test_block_tells_file_line_and_column_and_writes_nothing(self):
        path = self.recipe('[frame]\npart = true\nboxx = [1, 2, 3]\n')
        done = run("block", path, "-o", self.out)
        self.assertEqual(done.returncode, FINDINGS)
        self.assertIn(path.encode() + b":3:1:", done.stderr)
        self.assertIn(b"Did you mean box?", done.stderr)
        self.assertFalse(os.path.exists(self.out))
        self.assertEqual(run("block", self.recipe("[frame"), "-o", self.out).returncode, UNREADABLE)
        self.assertEqual(run("block", "no_such.toml", "-o", self.out).returncode, UNREADABLE)
        self.assertEqual(run("block", path).returncode, USAGE)

    def test_block_watch_builds_again_when_the_recipe_changes(self):
        good = "[frame]\npart = true\nfixed = true\nbox = [9, 9, %d]\n"
        path = self.recipe(good % 9)
        with subprocess.Popen([PROGRAM, "block", path, "-o", self.out, "--watch"], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE) as watching:
            try:
                self.assertIn(b"1 part", watching.stdout.readline())
                self.recipe(good % -9)
                self.assertIn(b":4:", watching.stderr.readline())
                self.assertTrue(os.path.exists(self.out))  # the last good one stays
                with open(self.out, "rb") as file:
                    first = file.read()
                self.recipe(good % 12)
                self.assertIn(b"1 part", watching.stdout.readline())
                with open(self.out, "rb") as file:
                    self.assertNotEqual(file.read(), first)
            finally:
                watching.terminate()

    def test_a_broken_order_is_told_on_the_way_back_too(self):
        path = self.changed("prop_box", "step=64")
        done = run("order", path, "--refit", "--json")
        self.assertEqual(done.returncode, FINDINGS)
        self.assertIn("prop-late", [finding["rule"] for finding in json.loads(done.stdout)["findings"]])

    def test_a_doubt_counts_only_when_strict(self):
        path = self.changed("crossmember", "mass_kg=30")
        self.assertEqual(run("check", path).returncode, GOOD)
        self.assertEqual(run("check", path, "--strict").returncode, FINDINGS)

    def test_what_is_no_map_is_2(self):
        path = os.path.join(self.folder.name, "no.glb")
        for content in (b"", b"glTF", b"{", b"\x00" * 100):
            with open(path, "wb") as file:
                file.write(content)
            for command in (["check", path], ["order", path], ["holds", path, "x"], ["set", path, "-o", self.out],
                            ["picture", path, "--step", "0", "-o", self.out]):
                done = run(*command)
                self.assertEqual(done.returncode, UNREADABLE, command)
                self.assertIn(b"no.glb", done.stderr)
        self.assertEqual(run("check", path + ".absent").returncode, UNREADABLE)

    def test_wrong_use_is_64(self):
        for command in ([], ["check"], ["order", BIG, "--for", "nosuch"], ["holds", BIG, "gearbx_tail"],
                        ["holds", BIG, "gearbox_tail", "--step", "9999"], ["nosuch"]):
            self.assertEqual(run(*command).returncode, USAGE, command)
        self.assertIn(b"gearbox_tail?", run("holds", BIG, "gearbx_tail").stderr)

    def test_things_are_named_as_a_person_reads_them(self):
        def tightened(name):
            done = run("torque", BIG, "--json", "--group", name)
            self.assertEqual(done.returncode, GOOD, done.stderr)
            return {item for one in json.loads(done.stdout)["tightenings"] for item in one["order"]}

        by_name = tightened("skid_bolts")
        self.assertTrue(by_name)
        for title in ("Skid plate bolts", "skid PLATE bolts", "skid plate", "Skid-Bolts"):
            self.assertEqual(tightened(title), by_name, title)
        # A whole title goes before words of a longer one.
        self.assertEqual(tightened("transfer box to gearbox tail"), tightened("adapter_bolts"))
        down = json.loads(run("order", BIG, "--for", "exhaust_run", "--json").stdout)
        titles = {one["name"]: one["extras"]["part"] for one in nodes_of(BIG) if "part" in one.get("extras", {})}
        same = run("order", BIG, "--for", titles["exhaust_run"].upper(), "--json")
        self.assertEqual(json.loads(same.stdout)["steps"], down["steps"])
        self.assertEqual(json.loads(run("holds", BIG, "skid plate", "--json").stdout)["item"], "skid_plate")
        for command, told in ((["torque", BIG, "--group", "bolts"], b"skid_bolts (Skid plate bolts)"),
                              (["order", BIG, "--for", "bracket"], b"lever_bracket ("),
                              (["torque", BIG, "--group", "no such thing"], b"no group")):
            done = run(*command)
            self.assertEqual(done.returncode, USAGE, command)
            self.assertIn(told, done.stderr)
            self.assertEqual(done.stdout, b"")

    def test_order_for_one_part_takes_less_and_keeps_the_gates(self):
        whole = json.loads(run("order", BIG, "--json").stdout)
        some = json.loads(run("order", BIG, "--for", "exhaust_run", "--json").stdout)
        self.assertLess(len(some["steps"]), len(whole["steps"]))
        items = [item for step in some["steps"] for item in step["items"]]
        self.assertIn("check_stands", items)
        self.assertEqual(items[-1], "exhaust_gasket")
        self.assertNotIn("transfer_box", items)

    def test_order_for_one_part_says_what_is_proven_the_fewest(self):
        some = json.loads(run("order", BIG, "--for", "transfer_box", "--json").stdout)["fewest"]
        self.assertTrue(some["proven"])
        self.assertEqual(len(some["items"]), some["at_least"])
        self.assertNotIn("transfer_box", some["items"])
        self.assertIn(b"the fewest, proven", run("order", BIG, "--for", "transfer_box").stdout)

    def test_least_crawling_does_the_same_with_fewer_changes(self):
        for path in (BIG, SMALL):
            authors = json.loads(run("order", path, "--json").stdout)
            least = json.loads(run("order", path, "--least-crawling", "--json").stdout)
            self.assertTrue(least["least_crawling"]["proven_place"])
            # What the budget of search nodes does not prove is told with its bound.
            self.assertEqual(least["least_crawling"]["proven"],
                             least["least_crawling"]["changes_of_tool"] == least["least_crawling"]["at_least_of_tool"])
            self.assertLessEqual(least["least_crawling"]["changes_of_tool"] - least["least_crawling"]["at_least_of_tool"], 1)
            places = [[step["from"] for step in plan["steps"] if step["from"]] for plan in (authors, least)]
            changes = [sum(a != b for a, b in zip(walk, walk[1:])) for walk in places]
            self.assertEqual(changes[1], least["least_crawling"]["changes_of_place"])
            self.assertLess(changes[1], changes[0])
            items = [sorted(item for step in plan["steps"] for item in step["items"]) for plan in (authors, least)]
            self.assertEqual(items[0], items[1])
            self.assertNotIn("fault", [finding["weight"] for finding in least["findings"]])
        self.assertIn(b"proven least", run("order", SMALL, "--least-crawling").stdout)
        self.assertEqual(run("order", SMALL, "--least-crawling", "--refit").returncode, GOOD)

    def test_torques_stand_on_the_way_back_and_what_is_not_stated_says_so(self):
        steps = json.loads(run("order", BIG, "--refit", "--json").stdout)["steps"]
        torques = {item: line["torque"] for step in steps if step["action"] == "tighten" for line in step["hardware"]
                   for item in line["items"]}
        self.assertEqual(torques["skid_bolt_1"], "22 N·m")
        self.assertEqual(torques["steady_castle_nut"], "69..78 N·m")
        self.assertEqual(torques["sensor_bolt"], "torque not stated")

    def test_holds_says_what_and_when_nothing_does(self):
        held = json.loads(run("holds", SMALL, "water_pump", "--json").stdout)["held_by"]
        self.assertIn("pump_bolt_behind_pulley", [one["node"] for one in held])
        self.assertIn(b"body that stays", run("holds", BIG, "frame").stdout)
        last = len(json.loads(run("order", SMALL, "--json").stdout)["steps"])
        self.assertIn(b"off already", run("holds", SMALL, "water_pump", "--step", str(last)).stdout)

    def test_reach_says_tools_and_what_is_in_the_way(self):
        done = run("reach", BIG, "--json")
        self.assertEqual(done.returncode, GOOD, done.stderr)
        told = json.loads(done.stdout)
        self.assertTrue(told["estimated"])
        turned = {one["fastener"]: one for one in told["reach"] if one["use"] == "turn"}
        self.assertEqual(turned["skid_bolt_5"]["estimated"], "free")
        self.assertIn("socket 13", turned["skid_bolt_5"]["tool"])
        self.assertEqual(turned["mount_lower_nut_2"]["in_the_way"], ["skid_plate"])
        after = turned["mount_lower_nut_2"]["reached_after_step"]
        done = run("reach", BIG, "--json", "--step", str(after))
        turned = {one["fastener"]: one for one in json.loads(done.stdout)["reach"] if one["use"] == "turn"}
        self.assertEqual(turned["mount_lower_nut_2"]["estimated"], "free")
        self.assertNotIn("skid_bolt_5", turned)  # it is out
        self.assertIn(b"estimated", run("reach", SMALL).stdout)
        self.assertEqual(run("reach", BIG, "--step", "999").returncode, USAGE)

    def test_reach_with_the_tools_that_one_owns(self):
        tools = os.path.join(self.folder.name, "tools.txt")
        with open(tools, "w") as file:
            file.write("ratchet 250\nsocket 13 # mine\n")
        done = run("reach", SMALL, "--tools", tools, "--json")
        self.assertEqual(done.returncode, GOOD, done.stderr)
        turned = {one["fastener"]: one for one in json.loads(done.stdout)["reach"] if one["use"] == "turn"}
        self.assertEqual(turned["tension_bolt"]["missing"], "socket 16")
        with open(tools, "w") as file:
            file.write("socket 13\nhammer\n")
        done = run("reach", SMALL, "--tools", tools)
        self.assertEqual(done.returncode, UNREADABLE)
        self.assertIn(b"line 2", done.stderr)
        self.assertEqual(run("reach", SMALL, "--tools", tools + ".none").returncode, UNREADABLE)

    def test_way_says_whether_it_comes_out_and_what_is_in_the_way(self):
        def way(path, *more):
            done = run("way", path, *more, "--json")
            self.assertEqual(done.returncode, GOOD, done.stderr)
            return json.loads(done.stdout)

        told = way(BIG)
        for kind, of_kind in (("parts", lambda one: one["how"] != "drawn"), ("fasteners", lambda one: one["how"] == "drawn")):
            self.assertEqual(sum(told[kind].values()), sum(of_kind(one) for one in told["items"]))
        self.assertTrue(all(one["estimated"] for one in told["items"]))
        # What the gasket of the tail was once thought to hold.
        by_item = {one["item"]: one["ways"] for one in told["items"]}
        for item in ("adapter_bolt_1", "adapter_bolt_2", "transfer_box"):
            self.assertEqual([by_item[item][0]["verdict"], by_item[item][0]["by"]], ["free", []], item)
        # What is stated to come with its part is not blocked, where the order takes it along; what could be drawn by
        # itself though it is stated to, is told.
        gap = next(one for one in told["items"] if one["item"] == "adapter_bolt_in_the_gap")
        box = next(one for one in told["items"] if one["item"] == "transfer_box")
        self.assertEqual([gap["ways"][0]["verdict"], gap["comes_with"], gap["comes_at_step"]],
                         ["comes with its part", "transfer_box", box["step"]])
        self.assertIn(gap["item"], box["moves"])
        lines = run("way", BIG).stdout
        self.assertNotIn(b"blocked", lines)
        self.assertIn(f"comes with transfer_box, step {box['step']}; so say the shapes (estimated)".encode(), lines)
        (free,) = way(self.changed("adapter_bolt_1", "leaves_with=transfer_box"), "--part", "adapter_bolt_1")
        self.assertEqual([free["ways"][0]["verdict"], free["comes_with"]], ["free", "transfer_box"])
        (plate,) = way(BIG, "--part", "skid_plate")
        self.assertEqual([plate["ways"][0][key] for key in ("stated", "verdict", "free_mm")], [True, "free", 400])
        # As found its bolts hold it; upwards the whole vehicle is in its way, and a way is found that is not stated.
        (plate,) = way(BIG, "--part", "skid_plate", "--as-found")
        self.assertEqual({met["node"] for met in plate["ways"][0]["by"]}, {f"skid_bolt_{i}" for i in range(1, 7)})
        (plate,) = way(self.changed("skid_plate", "way=up 400 mm"), "--part", "skid_plate")
        stated, found = plate["ways"]
        self.assertEqual([stated["stated"], stated["verdict"]], [True, "blocked"])
        self.assertIn("crossmember", [met["node"] for met in stated["by"]])
        self.assertEqual([found["stated"], found["verdict"], found["by"]], [False, "free", []])
        self.assertIn(b"(estimated)", run("way", SMALL, "--part", "pulley").stdout)
        for wrong in (["nosuch"], ["frame"], ["skid_plate", "--step", "9999"]):
            self.assertEqual(run("way", BIG, "--part", *wrong).returncode, USAGE, wrong)

    def test_fit_never_calls_a_bolt_good(self):
        done = run("fit", BIG, "--json")
        self.assertEqual(done.returncode, GOOD, done.stderr)
        verdicts = {one["verdict"] for one in json.loads(done.stdout)["estimated"]}
        self.assertIn("enough", verdicts)
        self.assertLessEqual(verdicts, {"enough", "short", "bottoms", "not shown"})
        figures = [line for line in run("fit", BIG).stdout.decode().splitlines() if " mm " in line]
        self.assertTrue(figures)
        self.assertTrue(all("estimated" in line.lower() for line in figures), figures)
        judged = {one["fastener"]: one["verdict"] for path in (BIG, SMALL)
                  for one in json.loads(run("fit", path, "--json").stdout)["estimated"]}
        slotted = [judged[name] for name in ("canister_bolt_1", "canister_bolt_2", "tension_bolt")]
        self.assertEqual(slotted, ["enough"] * 3)
        self.assertEqual(judged["filler_cap"], "not stated")

    def test_torque_says_order_units_wrench_and_what_comes_after(self):
        wrenches = os.path.join(self.folder.name, "wrenches.txt")
        with open(wrenches, "w") as file:
            file.write("torque wrench 5..25 N·m length 280\ntorque wrench 20..100 N·m length 400\n")
        done = run("torque", BIG, "--json", "--unit", "lbf·ft", "--wrenches", wrenches)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        told = json.loads(done.stdout)
        self.assertEqual(told["unit"], "lbf·ft")
        of = {item: one for one in told["tightenings"] for item in one["order"]}
        skid = of["skid_bolt_1"]
        self.assertEqual(skid["torque"], "16.2 lbf·ft (stated: 22 N·m)")
        self.assertEqual(skid["passes"][-1]["wrench"]["wrench"], "torque wrench 5..25 N·m")
        shaft = of["front_axle_bolt_1"]
        self.assertEqual(shaft["pattern"][:4], "star")
        self.assertTrue(shaft["pattern_stated"])
        self.assertEqual([one["percent"] for one in shaft["passes"]], [50, 100])
        self.assertEqual(len(of["adapter_bolt_1"]["order"]), 8)  # both groups of one flange
        self.assertEqual(of["sensor_bolt"]["torque"], "not stated")
        self.assertEqual(told["findings"], [])
        self.assertIn("after 50 to 100 km", [one["when"] for one in told["afterwards"]])
        one = json.loads(run("torque", BIG, "--json", "--group", "skid_bolts", "--wrenches", wrenches,
                             "--adapter", "50,0").stdout)["tightenings"]
        # The rear two hold another part too.
        self.assertEqual(sorted(item for t in one for item in t["order"]), [f"skid_bolt_{n}" for n in range(1, 7)])
        self.assertAlmostEqual(one[0]["passes"][-1]["wrench"]["set_to_high_nm"], 22 * 280 / 330)
        self.assertIn(b"16.2 lbf", run("torque", BIG, "--unit", "ft-lb").stdout)
        self.assertIn(b"common practice, no source", run("torque", SMALL).stdout)

    def test_torque_tells_wrong_use_and_doubts(self):
        for wrong in (["--unit", "stone"], ["--adapter", "long"], ["--group", "nosuch"]):
            self.assertEqual(run("torque", BIG, *wrong).returncode, USAGE, wrong)
        self.assertEqual(run("torque", BIG, "--wrenches", self.out + ".none").returncode, UNREADABLE)
        path = self.changed("skid_bolts", "torque=22 lbf·ft")
        findings = json.loads(run("torque", path, "--json").stdout)["findings"]
        self.assertEqual(findings[0]["rule"], "unit-mixed-up")
        self.assertEqual(run("check", path, "--strict").returncode, FINDINGS)

    def test_torque_rounds_the_passes_in_any_unit(self):
        path = self.changed("skid_bolts", "passes=3")
        for unit in ("kgf·cm", "kgf·m", "N·m", "lbf·in"):
            told = json.loads(run("torque", path, "--json", "--unit", unit, "--group", "skid_bolts").stdout)
            passes = [one for t in told["tightenings"] for one in t["passes"] if one["percent"] != 100]
            self.assertTrue(passes)
            for one in passes: # at most three figures, as a wrench can be set
                figures = one["torque"].split()[0].replace(".", "").strip("0")
                self.assertLessEqual(len(figures), 3, one["torque"])

    def test_a_window_is_not_opened_over_a_list_of_wrenches_that_cannot_be_read(self):
        wrenches = os.path.join(self.folder.name, "wrenches.txt")
        with open(wrenches, "w") as file:
            file.write("torque wrench\n")
        for path in (wrenches, os.path.join(self.folder.name, "nowhere.txt")):
            done = run("view", BIG, "--wrenches", path)
            self.assertEqual(done.returncode, UNREADABLE)
            self.assertIn(os.path.basename(path).encode(), done.stderr)

    def test_log_lists_what_is_not_torqued(self):
        log = os.path.join(self.folder.name, "log.sqlite")
        empty = run("log", BIG, "--log", log, "--untorqued")
        self.assertEqual(empty.returncode, GOOD)
        self.assertIn(b"Nothing is logged as undone.", empty.stdout)
        def enter(*lines):
            return run("log", BIG, "--log", log, *lines)
        enter("did take-out skid_bolt_1", "did take-out skid_bolt_2", "way-back", "did start skid_bolt_1",
              "did tighten skid_bolt_1 at \"22 N·m\"")
        asked = enter("did start steady_castle_nut", "did tighten steady_castle_nut")
        self.assertIn(b"at what torque does it stand in its slot", asked.stderr)
        told = json.loads(run("log", BIG, "--log", log, "--untorqued", "--json").stdout)["untorqued"]
        self.assertEqual([one["item"] for one in told], ["skid_bolt_2"])
        self.assertEqual(told[0]["torque"], "22 N·m")
        left = run("log", BIG, "--log", log, "--untorqued")
        self.assertIn(b"Without a paint stroke: 1", left.stdout)
        self.assertEqual(left.returncode, FINDINGS)
        # Tight, and no torque is stated for it: told apart from what is left to do.
        enter("did take-out sensor_bolt", "did start sensor_bolt", "did tighten sensor_bolt")
        told = json.loads(run("log", BIG, "--log", log, "--untorqued", "--json").stdout)["untorqued"]
        self.assertEqual({one["item"]: one["none_stated"] for one in told}, {"skid_bolt_2": False, "sensor_bolt": True})
        left = run("log", BIG, "--log", log, "--untorqued")
        self.assertIn(b"Without a paint stroke: 2; 1 of them tight, with no torque stated", left.stdout)

    def test_nothing_raw_reaches_a_terminal(self):
        path = self.changed("skid_plate", "note=\u202eevil\u009b31m\x7f", "after=no\u202esuch")
        for command in (["check", path], ["check", path, "--json"], ["order", path], ["order", path, "--json"]):
            done = run(*command)
            text = (done.stdout + done.stderr).decode("utf-8")
            raw = [c for c in text if (ord(c) < 32 and c != "\n") or 127 <= ord(c) < 160 or 0x202a <= ord(c) <= 0x202e]
            self.assertEqual(raw, [], command)

    def test_set_changes_one_key_and_ids_are_kept(self):
        path = self.changed("skid_bolts", "torque=24 N·m", "count=")
        before, after = nodes_of(BIG), nodes_of(path)
        differing = [a["name"] for b, a in zip(before, after) if a != b]
        self.assertEqual(differing, ["skid_bolts"])
        self.assertEqual(run("set", BIG, "--ids", "-o", self.out).returncode, GOOD)
        ids = [node["extras"]["id"] for node in nodes_of(self.out) if "id" in node.get("extras", {})]
        self.assertEqual(len(ids), len(set(ids)))
        self.assertGreater(len(ids), 150)
        again = os.path.join(self.folder.name, "again.glb")
        self.assertEqual(run("set", self.out, "--ids", "-o", again).returncode, GOOD)
        self.assertEqual(nodes_of(again), nodes_of(self.out))

    def photographed(self, orientation=1):
        """A picture file as a telephone writes it, beside the map."""
        drawn, photo = (os.path.join(self.folder.name, name) for name in ("drawn.png", "under car.jpg"))
        with open(drawn, "wb") as file:
            file.write(camera.scene(400, 300))
        made = os.path.join(self.folder.name, "made.glb")
        self.assertEqual(run("photo", SMALL, drawn, "--node", "water_pump", "-o", made).returncode, GOOD)
        self.assertEqual(run("photo", made, "--save", "drawn", "-o", photo).returncode, GOOD)
        with open(photo, "rb") as file:
            jpeg = file.read()
        with open(photo, "wb") as file:
            file.write(camera.with_exif(jpeg, orientation))
        return photo

    def test_photo_goes_in_without_its_place_and_comes_out_again(self):
        photo = self.photographed(orientation=6)
        with open(photo, "rb") as file:
            written = file.read()
        done = run("photo", SMALL, photo, photo, "--node", "pump_bolts", "-o", self.out)
        self.assertEqual((done.returncode, done.stderr), (GOOD, b""))
        self.assertIn(b"under_car: 300 x 400", done.stdout)  # upright
        with open(self.out, "rb") as file:
            kept = file.read()
        for secret in camera.SECRETS:
            self.assertIn(secret, written)
            self.assertNotIn(secret, kept)
        named = {node["name"]: node["extras"]["photo"] for node in nodes_of(self.out) if "photo" in node.get("extras", {})}
        self.assertEqual(named, {"pump_bolts": "under_car; under_car_2"})
        listed = run("photo", self.out).stdout.decode()
        self.assertRegex(listed, r"under_car_2: 300 x 400, \d+ KiB, of pump_bolt")
        self.assertNotIn("more than pixels", listed)
        before, after = run("check", SMALL, "--json"), run("check", self.out, "--json")
        self.assertEqual(json.loads(before.stdout)["findings"], json.loads(after.stdout)["findings"])
        steps = json.loads(run("order", self.out, "--json").stdout)["steps"]
        self.assertEqual([step["photos"] for step in steps if step["photos"]], [["under_car", "under_car_2"]])
        # One out: its bytes too.
        less, none = (os.path.join(self.folder.name, name) for name in ("less.glb", "none.glb"))
        self.assertEqual(run("photo", self.out, "--drop", "under_car", "-o", less).returncode, GOOD)
        self.assertEqual([node["extras"]["photo"] for node in nodes_of(less) if "photo" in node.get("extras", {})], ["under_car_2"])
        self.assertEqual(run("photo", less, "--drop", "under_car_2", "-o", none).returncode, GOOD)
        self.assertEqual(run("photo", none).stdout, b"no photographs\n")
        self.assertLess(os.path.getsize(none), os.path.getsize(SMALL) + 4000)
        self.assertEqual([f["rule"] for f in json.loads(run("check", none, "--json").stdout)["findings"]],
                         [f["rule"] for f in json.loads(before.stdout)["findings"]])

    def test_a_photo_of_a_step_is_shown_with_that_step(self):
        photo = self.photographed()
        count = len(json.loads(run("order", SMALL, "--json").stdout)["steps"])
        for number in range(1, count + 1):
            self.assertEqual(run("photo", SMALL, photo, "--step", str(number), "-o", self.out).returncode, GOOD)
            steps = json.loads(run("order", self.out, "--json").stdout)["steps"]
            self.assertEqual(steps[number - 1]["photos"], ["under_car"], f"step {number}")
        for number in (0, count + 1):
            refused = run("photo", SMALL, photo, "--step", str(number), "-o", self.out)
            self.assertEqual(refused.returncode, UNREADABLE)
            self.assertIn(b"the order down has %d steps" % count, refused.stderr)

    def test_photos_survive_what_else_is_done_to_a_map(self):
        photo = self.photographed()
        with_photo = os.path.join(self.folder.name, "with.glb")
        self.assertEqual(run("photo", SMALL, photo, "--step", "1", "-o", with_photo).returncode, GOOD)

        def saved(path):
            jpeg = os.path.join(self.folder.name, "again.jpg")
            self.assertEqual(run("photo", path, "--save", "under_car", "-o", jpeg).returncode, GOOD)
            with open(jpeg, "rb") as file:
                return file.read()

        first = saved(with_photo)
        table = os.path.join(self.folder.name, "t.csv")
        self.assertEqual(run("set", with_photo, "--ids", "-o", self.out).returncode, GOOD)
        self.assertEqual(saved(self.out), first)
        self.assertEqual(run("table", with_photo, "-o", table).returncode, GOOD)
        self.assertEqual(run("table", with_photo, "--apply", table, "-o", self.out).returncode, GOOD)
        self.assertEqual(saved(self.out), first)

    def test_block_takes_a_photo_from_beside_the_recipe(self):
        photo = self.photographed()
        words = '[frame]\npart = true\nfixed = true\nbox = [9, 9, 9]\nphoto = "%s"\n'
        path = self.recipe(words % os.path.basename(photo))
        done = run("block", path, "-o", self.out)
        self.assertEqual((done.returncode, done.stderr), (GOOD, b""))
        self.assertIn(b"under_car: 400 x 300", run("photo", self.out).stdout)
        os.remove(self.out)
        self.assertEqual(run("block", self.recipe(words % "missing.jpg"), "-o", self.out).returncode, UNREADABLE)
        self.assertFalse(os.path.exists(self.out))

    def test_photo_says_why_not(self):
        photo = self.photographed()
        with open(photo, "rb") as file:
            jpeg = file.read()
        with open(photo, "wb") as file:
            file.write(jpeg[:len(jpeg) // 2])
        for wrong, words in ((["--node", "water_pump"], b"cut off"), (["--node", "nobody"], b"nobody"),
                             (["--step", "99"], b"steps and none is 99"), ([], b"--node")):
            done = run("photo", SMALL, photo, *wrong, "-o", self.out)
            self.assertEqual(done.returncode, UNREADABLE)
            self.assertIn(words, done.stderr)
            self.assertFalse(os.path.exists(self.out))
        self.assertEqual(run("photo", SMALL, photo, "--node", "water_pump").returncode, USAGE)
        self.assertEqual(run("photo", SMALL, "--drop", "a", "--save", "b", "-o", self.out).returncode, USAGE)
        self.assertEqual(run("photo", SMALL, "--drop", "nothing", "-o", self.out).returncode, UNREADABLE)

    def stripped(self, name):
        """A demo map without a key."""
        with open(os.path.join(ASSETS, name), "rb") as file:
            data = file.read()
        length = int.from_bytes(data[12:16], "little")
        document = json.loads(data[20:20 + length])
        for owner in document["nodes"] + document["scenes"]:
            owner.pop("extras", None)
        text = json.dumps(document).encode()
        text += b" " * (-len(text) % 4)
        rest = data[20 + length:]
        path = os.path.join(self.folder.name, "bare.glb")
        with open(path, "wb") as file:
            file.write(b"glTF" + (2).to_bytes(4, "little") + (20 + len(text) + len(rest)).to_bytes(4, "little")
                       + len(text).to_bytes(4, "little") + b"JSON" + text + rest)
        return path

    def test_propose_lists_and_writes_only_what_is_taken(self):
        bare = self.stripped("water_pump.glb")
        told = json.loads(run("propose", bare, "--json").stdout)["proposals"]
        self.assertEqual(len(told), 12)
        one = next(p for p in told if p["node"] == "pulley_bolt_1")
        self.assertEqual((one["drive"], one["head"], one["sold"][0]["size"]), ("hex 10", "hex_flange", "M6"))
        self.assertEqual(one["holds"], ["pulley", "water_pump"])
        self.assertEqual(run("propose", bare, "--take", one["id"]).returncode, 64)  # nowhere to write it
        self.assertEqual(run("propose", bare, "--take", "p99", "-o", self.out).returncode, 64)
        done = run("propose", bare, "--all-like", "pulley_bolt_1", "--thread", "M6", "-o", self.out)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        taken = {n["name"]: n["extras"] for n in nodes_of(self.out) if "extras" in n}
        self.assertEqual(sorted(taken), ["pulley", "pulley_bolt_1", "pulley_bolt_2", "pulley_bolt_3", "pulley_bolt_4", "water_pump"])
        self.assertEqual(taken["pulley_bolt_3"]["holds"], "pulley; water_pump")
        self.assertNotIn("torque", taken["pulley_bolt_3"])
        self.assertEqual(run("check", self.out).returncode, GOOD)
        # The next run keeps the ids, and offers no more what was taken.
        again = json.loads(run("propose", self.out, "--json").stdout)["proposals"]
        self.assertEqual([p["id"] for p in again], [p["id"] for p in told if not p["node"].startswith("pulley_bolt")])
        self.assertEqual(run("propose", self.out, "--take", "pulley_bolt_1", "-o", self.out).returncode, 64)
        self.assertEqual(run("propose", BIG).returncode, GOOD)

    def test_propose_asks_about_millimetres_before_it_writes(self):
        big = "/usr/share/assimp/models/glTF2/2CylinderEngine-glTF-Binary/2CylinderEngine.glb"
        told = json.loads(run("propose", big, "--json").stdout)
        self.assertEqual(told["scale"], 0.001)
        asked = run("propose", big, "--take", "p1", "-o", self.out)
        self.assertEqual(asked.returncode, 1)
        self.assertFalse(os.path.exists(self.out))
        self.assertEqual(run("propose", big, "--take", "p1", "--scale", "0.001", "-o", self.out).returncode, GOOD)
        root = nodes_of(self.out)[-1]
        self.assertEqual(root["scale"], [0.001] * 3)

    def test_readme_tells_of_every_command_and_of_no_option_that_is_not_there(self):
        with open(os.path.join(ASSETS, "..", "README.md"), encoding="utf-8") as file:
            readme = file.read()
        rows = dict(re.findall(r"^\| `boltwalk (\w+)([^\n]*)", readme, re.M))
        listed = run("--help").stdout.decode().split("Subcommands:")[1].split("\n\n")[0]
        commands = re.findall(r"^  (\w+) ", listed, re.M)
        self.assertGreater(len(commands), 10)
        self.assertEqual(sorted(rows), sorted(commands))
        without = re.search(r"All but ([^\n]*) take `--json`", readme).group(1)
        for command in commands:
            options = set(re.findall(r"(?<!\w)(--?[a-z-]+)", run(command, "--help").stdout.decode()))
            for named in re.findall(r"(?<![\w`-])`(--?[a-z-]+)", rows[command].replace("(`", " `")):
                self.assertIn(named, options, command)
            self.assertEqual("--json" in options, f"`{command}`" not in without, command)

    def test_a_table_goes_out_and_back_in_and_changes_nothing(self):
        for path in (BIG, SMALL):
            table = os.path.join(self.folder.name, "table.csv")
            self.assertEqual(run("table", path, "-o", table).returncode, GOOD)
            with open(table, encoding="utf-8", newline="") as file:
                rows = list(csv.DictReader(file))
            # Every cell that Python's reader finds is what the node states.
            extras = {node["name"]: node.get("extras", {}) for node in nodes_of(path)}
            told = 0
            for row in rows:
                for key, cell in row.items():
                    if key in ("name", "what"):
                        continue
                    stated = extras[row["name"]].get(key, "")
                    stated = json.dumps(stated) if not isinstance(stated, str) else stated
                    self.assertEqual(cell.removeprefix("'"), stated, (row["name"], key))
                    told += cell != ""
            self.assertGreater(told, len(rows))
            done = run("table", path, "--apply", table, "-o", self.out)
            self.assertEqual(done.returncode, GOOD, done.stderr)
            self.assertIn(b": 0 changes, 0 without a row, 0 left out", done.stdout)
            with open(path, "rb") as before, open(self.out, "rb") as after:
                self.assertEqual(before.read(), after.read())

    def test_two_maps_are_compared_in_the_jobs_terms(self):
        self.assertIn(b"No difference found", run("compare", BIG, BIG).stdout)
        path = self.changed("skid_bolts", "torque=24 N·m", "count=7")
        self.assertEqual(run("set", path, "--node", "skid_plate", "way=front 300 mm", "-o", path).returncode, GOOD)
        done = run("compare", BIG, path, "--json")
        self.assertEqual(done.returncode, FINDINGS)
        told = json.loads(done.stdout)["differences"]
        self.assertEqual([(d["what"], d["key"], d["after"], len(d["nodes"])) for d in told],
                         [("states", "count", "7", 1), ("states", "way", "front 300 mm", 1),
                          ("states", "torque", "24 N·m", 6)])
        text = run("compare", BIG, path).stdout.decode()
        self.assertIn("torque: 24 N·m, was: 22 N·m", text)
        self.assertEqual(run("compare", BIG, SMALL).returncode, FINDINGS)
        self.assertEqual(run("compare", BIG, "no such file").returncode, UNREADABLE)

    def test_a_table_with_a_mistake_is_not_written_unless_partly(self):
        table = os.path.join(self.folder.name, "table.csv")
        with open(table, "w", encoding="latin-1") as file:
            file.write("name;torque (lbf·ft);thread\nskid_bolts;16;M88x9x9\nno_such_bolt;3;M6\n")
        done = run("table", BIG, "--apply", table, "-o", self.out)
        self.assertEqual(done.returncode, FINDINGS)
        self.assertFalse(os.path.exists(self.out))
        for words in (b"line 2, skid_bolts, thread", b"line 3, no_such_bolt", b"nothing was written: 2 to mend"):
            self.assertIn(words, done.stderr)
        done = run("table", BIG, "--apply", table, "--partly", "-o", self.out)
        self.assertEqual(done.returncode, FINDINGS)
        self.assertIn("  skid_bolts, torque: 16 lbf·ft, was: 22 N·m\n", done.stdout.decode())
        changed = {node["name"]: node.get("extras", {}) for node in nodes_of(self.out)}
        self.assertEqual(changed["skid_bolts"]["torque"], "16 lbf·ft")
        self.assertEqual(changed["skid_bolts"]["thread"], "M8")

    def test_a_short_table_tells_in_one_line_what_no_row_speaks_of(self):
        fasteners = json.loads(run("fit", BIG, "--json").stdout)["estimated"]
        self.assertGreater(len(fasteners), 40)
        table = os.path.join(self.folder.name, "table.csv")
        with open(table, "w", encoding="utf-8") as file:
            file.write("name,note\nskid_bolt_1,look twice\nskid_bolt_2,look twice\n")
        done = run("table", BIG, "--apply", table, "-o", self.out)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        lines = [line for line in done.stderr.decode().splitlines() if "no row speaks of" in line]
        self.assertEqual(len(lines), 1, done.stderr)
        self.assertIn("no row speaks of 104 of 106 fasteners: skid_bolts (4 of 6), ", lines[0])
        self.assertRegex(lines[0], r" \(all \d+\), .* and \d+ more \(--all names each\)$")
        self.assertLess(len(lines[0]), 300)
        every = run("table", BIG, "--apply", table, "--all", "-o", self.out).stderr
        self.assertEqual(every.count(b"no row speaks of "), 104)
        self.assertIn(b"no row speaks of drain_plug\n", every)

    def test_a_table_of_another_map_tells_twenty_rows_and_how_many_more(self):
        table = os.path.join(self.folder.name, "table.csv")
        with open(table, "w", encoding="utf-8") as file:
            file.write("name,thread\n" + "".join(f"other_{n},M8\n" for n in range(33)) + "skid_bolts,M88x9x9\n")
        done = run("table", BIG, "--apply", table, "-o", self.out)
        self.assertEqual(done.returncode, FINDINGS)
        self.assertEqual(done.stderr.count(b", other_"), 20)
        self.assertIn(b"and 13 more rows", done.stderr)
        self.assertIn(b"line 35, skid_bolts, thread", done.stderr)
        self.assertIn(b"nothing was written: 34 to mend", done.stderr)
        self.assertEqual(run("table", BIG, "--apply", table, "--all", "-o", self.out).stderr.count(b", other_"), 33)

    def test_a_table_of_many_changes_lists_twenty_or_all(self):
        table = os.path.join(self.folder.name, "table.csv")
        self.assertEqual(run("table", BIG, "-o", table).returncode, GOOD)
        with open(table, encoding="utf-8", newline="") as file:
            bolts = [row["name"] for row in csv.DictReader(file) if row["note"] == ""][:25]
        with open(table, "w", encoding="utf-8") as file:
            file.write("name,note\n" + "".join(f"{name},look twice\n" for name in bolts))
        done = run("table", BIG, "--apply", table, "-o", self.out)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        self.assertEqual(done.stdout.count(b", note: look twice, was: not stated\n"), 20)
        self.assertIn(b"  and 5 more (--all lists them)\n", done.stdout)
        self.assertEqual(run("table", BIG, "--apply", table, "--all", "-o", self.out).stdout.count(b"look twice"), 25)

    def test_a_disk_that_is_full_is_no_success(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([PROGRAM, "check", BIG], stdout=full, stderr=subprocess.PIPE)
        self.assertEqual(done.returncode, UNREADABLE)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
