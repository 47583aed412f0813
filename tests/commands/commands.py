"""The program as a script meets it: exit codes, JSON, what reaches a terminal. Run by ctest: commands.py PROGRAM ASSETS."""

import base64
import json
import os
import re
import struct
import subprocess
import sys
import tempfile
import unittest

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
            done = run("check", path, "--strict")
            self.assertEqual(done.returncode, GOOD, done.stdout)
            self.assertIn(b"0 faults, 0 doubts", done.stdout)

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
            self.assertTrue(least["least_crawling"]["proven"])
            places = [[step["from"] for step in plan["steps"] if step["from"]] for plan in (authors, least)]
            changes = [sum(a != b for a, b in zip(walk, walk[1:])) for walk in places]
            self.assertEqual(changes[1], least["least_crawling"]["changes_of_place"])
            self.assertLess(changes[1], changes[0])
            items = [sorted(item for step in plan["steps"] for item in step["items"]) for plan in (authors, least)]
            self.assertEqual(items[0], items[1])
            self.assertEqual(least["findings"], [])
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

    def test_a_disk_that_is_full_is_no_success(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([PROGRAM, "check", BIG], stdout=full, stderr=subprocess.PIPE)
        self.assertEqual(done.returncode, UNREADABLE)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
