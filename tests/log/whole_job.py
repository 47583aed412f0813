"""The whole big job by script: out and back, with two damages, one thing unforeseen, one kill in the middle, one swap of
lengths attempted. Run by ctest: whole_job.py PROGRAM ASSETS."""

import csv
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import unittest

PROGRAM, ASSETS = sys.argv[1], sys.argv[2]
GOOD, FINDINGS, UNREADABLE, USAGE = 0, 1, 2, 64


class WholeJob(unittest.TestCase):

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.map = os.path.join(self.folder.name, "job.glb")
        shutil.copy(os.path.join(ASSETS, "transfer_box.glb"), self.map)

    def tearDown(self):
        self.folder.cleanup()

    def log(self, *arguments, given=None):
        return subprocess.run([PROGRAM, "log", self.map, *arguments], capture_output=True, input=given, encoding="utf-8")

    def enter(self, *lines, code=GOOD):
        done = self.log("--from", "-", given="\n".join(lines) + "\n")
        self.assertEqual(done.returncode, code, done.stdout[-500:] + done.stderr[-2000:])
        return done

    def steps(self, *way):
        done = subprocess.run([PROGRAM, "order", self.map, "--json", *way], capture_output=True, check=True)
        return json.loads(done.stdout)["steps"]

    def now(self):
        return json.loads(self.log("--now", "--json").stdout)

    def entries(self):
        return json.loads(self.log("--json").stdout)["entries"]

    def balanced(self):
        for kind in self.now()["ledger"]:
            self.assertEqual(kind["came_out"], kind["in_tray"] + kind["refitted"] + kind["elsewhere"] +
                             kind["scrapped"] + kind["missing"], kind)
            self.assertEqual(kind["places"], kind["refitted"] + kind["strangers"] + kind["fresh"] + kind["empty"], kind)

    def step_of(self, steps, action, item):
        return next(s["number"] for s in steps if s["action"] == action and item in s["items"])

    def killed_in_the_middle(self, lines, after):
        """Feeds lines, and kills the program once it has acknowledged so many entries. The acknowledged numbers."""
        program = subprocess.Popen([PROGRAM, "log", self.map, "--from", "-"], stdin=subprocess.PIPE,
                                   stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, encoding="utf-8")
        program.stdin.write("\n".join(lines) + "\n")
        program.stdin.flush()
        numbers = []
        while len(numbers) < after:
            numbers.append(int(program.stdout.readline().split()[0]))
        program.send_signal(signal.SIGKILL)
        numbers += [int(line.split()[0]) for line in program.stdout if line.endswith("\n")]
        program.wait()
        self.assertEqual(program.returncode, -signal.SIGKILL)
        program.stdin.close()
        program.stdout.close()
        return numbers

    def test_out_and_back(self):
        out, back = self.steps(), self.steps("--refit")
        needs = [need["name"] for need in self.now()["needs"]]
        self.assertIn("tool: hex 16", needs)
        self.enter(*["ticked " + name for name in needs])
        self.assertTrue(all(need["ticked"] for need in self.now()["needs"]))

        # Down, with a kill in the middle, two damages, something in the way.
        sheared = self.step_of(out, "take-out", "skid_bolt_3")
        rounded = self.step_of(out, "take-out", "heat_shield_bolt_2")
        lines = [f"did out {n}" for n in range(1, sheared)]
        lines += [f"did out {sheared} but skid_bolt_3", "found sheared skid_bolt_3: the head came off"]
        lines += [f"did out {n}" for n in range(sheared + 1, rounded)]
        self.enter(*lines)
        lines = ["found rounded heat_shield_bolt_2: came with a smaller socket hammered on",
                 "in-the-way: a cable tie round the harness"]
        lines += [f"did out {n}" for n in range(rounded, len(out) + 1)]
        before = len(self.entries())
        acknowledged = self.killed_in_the_middle(lines, 25)
        kept = self.entries()
        self.assertGreaterEqual(len(kept), max(acknowledged))
        self.assertEqual([e["number"] for e in kept], list(range(1, len(kept) + 1)))
        self.assertGreater(max(acknowledged), before + 24)
        # On from where it stopped: what is in is left out, steps that are in already say so.
        done = {e["step"] for e in kept if "step" in e}
        rest = [line for line in lines[2:] if line[4:] not in done]
        last = kept[-1]["step"]
        again = self.log("did " + last)
        self.assertIn(again.returncode, (GOOD, USAGE), again.stderr)
        self.enter(*rest)
        self.balanced()
        state = self.now()
        self.assertEqual(state["deviations"], [])
        self.assertEqual({d["duty"] for d in state["duties"] if d["item"] == "skid_bolt_3"}, {"buy", "repair-hole"})

        # The way back. A short bolt where a long one belongs: asked first, then done, refused by nobody, said by the rules.
        first = self.step_of(back, "start", "adapter_upper_bolt_1")
        self.assertLess(first, self.step_of(back, "start", "adapter_bolt_1"))  # that one still lies in the tray
        self.enter(*[f"did back {n}" for n in range(1, first)])
        swap = "did start adapter_upper_bolt_1 with adapter_bolt_1"
        names = {e["item"] for e in self.entries() if "item" in e}
        self.assertLessEqual({"adapter_upper_bolt_1", "adapter_bolt_1"}, names)
        count = len(self.entries())
        asked = self.log("--ask", swap)
        self.assertEqual(asked.returncode, FINDINGS)
        self.assertIn("the manual wants bolt M10x1.25 × 60", asked.stderr)
        self.assertEqual(len(self.entries()), count)
        entered = self.log(swap)
        self.assertEqual(entered.returncode, FINDINGS)
        self.balanced()
        self.assertEqual(sum(kind["strangers"] for kind in self.now()["ledger"]), 1)
        self.enter("did take-out adapter_upper_bolt_1: the wrong one, it would not seat")
        self.balanced()

        # skid_bolt_3 may not go in before its hole is repaired.
        skid = self.step_of(back, "start", "skid_bolt_3")
        self.enter(*[f"did back {n}" for n in range(first, skid)])
        self.assertEqual(self.log("--ask", "did start skid_bolt_3").returncode, FINDINGS)
        self.enter("found insert skid_bolt_3: kit M8, its own drill and tap")
        # All the rest, and the oil, chips and cable tie.
        self.enter(*[f"did back {n}" for n in range(skid, len(back) + 1)])
        self.balanced()
        refused = self.log("closed")
        self.assertEqual(refused.returncode, FINDINGS)
        self.assertIn("a cable tie", refused.stderr)
        for duty in self.now()["duties"]:
            if not duty["settled"] and duty["duty"] != "remember":
                self.enter(f"settled {duty['entry']} {duty['duty']}")
        state = self.now()
        self.assertEqual([o["what"] for o in state["open"]], [])
        self.enter("closed")
        self.assertTrue(self.now()["closed"])

        # The record says all of it.
        record = self.log().stdout
        for text in ("found sheared skid_bolt_3: the head came off", "found rounded heat_shield_bolt_2",
                     "in-the-way: a cable tie", "found insert skid_bolt_3: kit M8", "with adapter_bolt_1",
                     "deviates: adapter_upper_bolt_1: the manual wants"):
            self.assertIn(text, record)
        for kind in self.now()["ledger"]:
            self.assertEqual((kind["in_tray"], kind["empty"], kind["missing"], kind["strangers"]), (0, 0, 0, 0), kind)
        self.on_paper()
        self.taken_along()

    def on_paper(self):
        """The record to be signed says all of it, too."""
        pdf = os.path.join(self.folder.name, "record.pdf")
        done = subprocess.run([PROGRAM, "sheet", self.map, "--done", "-o", pdf], capture_output=True, encoding="utf-8")
        self.assertEqual(done.returncode, GOOD, done.stderr)
        read = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, check=True, encoding="utf-8")
        text = "".join(read.stdout.split())
        for words in ("Closed, with nothing open.", "the head came off", "found rounded heat_shield_bolt_2",
                      "a cable tie round the harness: back", "found insert skid_bolt_3", "the manual wants bolt M10x1.25 × 60",
                      "skid_bolt_3: a new bolt M8 × 25", "Done by: name, date, signature"):
            self.assertIn("".join(words.split()), text.replace("M10×1.25", "M10x1.25"))
        for entry in self.entries():
            if entry.get("torque"):
                self.assertIn("".join(entry["torque"].split()), text)

    def taken_along(self):
        """Out as JSON and CSV, into another log, and everything stands the same."""
        stands = self.now()
        for flag in ("--json", "--csv"):
            exported = subprocess.run([PROGRAM, "log", self.map, flag], capture_output=True, check=True).stdout
            path = os.path.join(self.folder.name, "taken" + flag)
            with open(path, "wb") as file:
                file.write(exported)
            other = os.path.join(self.folder.name, "other" + flag)
            for new in (len(self.entries()), 0):
                done = self.log("--log", other, "--import", path)
                self.assertEqual(done.returncode, GOOD, done.stderr)
                self.assertIn(f"{new} of", done.stdout)
            self.assertEqual(json.loads(self.log("--log", other, "--now", "--json").stdout), stands)
            if flag == "--csv":
                rows = list(csv.reader(io.StringIO(exported.decode("utf-8"), newline="")))
                self.assertEqual({len(row) for row in rows}, {len(rows[0])})

    def test_exit_codes(self):
        self.assertEqual(self.log().returncode, GOOD)
        self.assertFalse(os.path.exists(self.map + ".log.sqlite"))  # looking makes no file
        self.assertEqual(self.log("did nothing_here").returncode, USAGE)
        self.assertEqual(self.log("--import", "no such file").returncode, UNREADABLE)
        self.assertEqual(self.log("--from", "no such file").returncode, UNREADABLE)
        self.assertEqual(self.log("did take-off transfer_box").returncode, FINDINGS)  # recorded, and said
        self.assertEqual(len(self.entries()), 1)
        nowhere = os.path.join(self.folder.name, "no", "such", "folder.sqlite")
        done = self.log("--log", nowhere, "did out 1")
        self.assertEqual(done.returncode, UNREADABLE)
        self.assertIn("in memory only", done.stderr)
        with open(nowhere[:-22] + "x.sqlite", "wb") as file:
            file.write(b"x" * 4096)
        done = self.log("--log", nowhere[:-22] + "x.sqlite")
        self.assertEqual(done.returncode, UNREADABLE)
        self.assertIn("no log of this program", done.stderr)

    def test_what_is_struck_out_stays_in_sight(self):
        self.enter("did out 1", "struck 1: not yet done")
        text = self.log().stdout
        self.assertIn("[struck out]", text)
        self.assertIn("struck: not yet done", text)
        self.enter("did out 1")

    def test_nothing_raw_reaches_a_terminal(self):
        self.enter("noted: \u202eturned\x1b[31m")
        for flags in ([], ["--json"], ["--now"], ["--now", "--json"]):
            text = self.log(*flags).stdout
            raw = [c for c in text if (ord(c) < 32 and c != "\n") or 127 <= ord(c) < 160 or 0x202a <= ord(c) <= 0x202e]
            self.assertEqual(raw, [], flags)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
