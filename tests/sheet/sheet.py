"""The sheet as a reader of PDF sees it (poppler: pdfinfo, pdffonts, pdftotext, pdftoppm), not as we meant it. Run by
ctest: sheet.py PROGRAM ASSETS."""

import json
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "shared"))
import camera

PROGRAM, ASSETS = sys.argv[1], sys.argv[2]
GOOD, FINDINGS, UNREADABLE, USAGE = 0, 1, 2, 64
MAPS = [os.path.join(ASSETS, name) for name in ("water_pump.glb", "transfer_box.glb")]


def run(*arguments):
    return subprocess.run([PROGRAM, *arguments], capture_output=True, encoding="utf-8")


def tool(*arguments):
    return subprocess.run(arguments, capture_output=True, check=True, encoding="utf-8").stdout


def squeezed(text):
    return re.sub(r"\s+", "", text)


class Page:
    """A page in grey, `per_mm` pixels a millimetre."""

    def __init__(self, path, number, per_mm, folder):
        stem = os.path.join(folder, "page")
        subprocess.run(["pdftoppm", "-gray", "-r", str(25.4 * per_mm), "-f", str(number), "-l", str(number),
                        "-singlefile", path, stem], check=True)
        with open(stem + ".pgm", "rb") as file:
            data = file.read()
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
        self.width, self.height = int(head[1]), int(head[2])
        self.rows = [data[head.end() + self.width * y:head.end() + self.width * (y + 1)] for y in range(self.height)]

    def dark(self, x, y):
        return self.rows[y][x] < 160

    def longest_across(self, y, until):
        best = run_length = 0
        for x in range(until):
            run_length = run_length + 1 if self.dark(x, y) else 0
            best = max(best, run_length)
        return best

    def longest_down(self, x, top, bottom):
        best = run_length = 0
        for y in range(max(top, 0), min(bottom, self.height)):
            run_length = run_length + 1 if self.dark(x, y) else 0
            best = max(best, run_length)
        return best


class Sheet(unittest.TestCase):

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.pdf = os.path.join(self.folder.name, "sheet.pdf")

    def tearDown(self):
        self.folder.cleanup()

    def printed(self, path, *arguments):
        done = run("sheet", path, "-o", self.pdf, *arguments)
        self.assertEqual(done.returncode, GOOD, done.stderr)
        return squeezed(tool("pdftotext", "-layout", self.pdf, "-"))

    def test_every_step_size_and_torque_is_on_paper(self):
        for path in MAPS:
            text = self.printed(path, "--no-pictures")
            for way in ([], ["--refit"]):
                for step in json.loads(run("order", path, "--json", *way).stdout)["steps"]:
                    self.assertIn(squeezed(step["headline"]), text)
                    for caution in step["cautions"]:
                        self.assertIn(squeezed(caution), text)
                    for line in step["hardware"]:
                        for key in ("size", "torque"):
                            self.assertIn(squeezed(line[key]), text)

    def test_a_photograph_stands_with_its_step_and_tells_no_place(self):
        def path(name):
            return os.path.join(self.folder.name, name)
        with open(path("drawn.png"), "wb") as file:
            file.write(camera.scene(600, 800))
        self.assertEqual(run("photo", MAPS[0], path("drawn.png"), "--node", "water_pump", "-o", path("a.glb")).returncode, GOOD)
        self.assertEqual(run("photo", path("a.glb"), "--save", "drawn", "-o", path("taken.jpg")).returncode, GOOD)
        with open(path("taken.jpg"), "rb") as file:
            jpeg = camera.with_exif(file.read())
        # A map by another program: the camera's file lies in it as it was, its place too. Not on paper.
        with open(path("a.glb"), "rb") as file:
            data = file.read()
        (length,) = struct.unpack("<I", data[12:16])
        document, chunk = json.loads(data[20:20 + length]), data[28 + length:]
        view = document["bufferViews"][document["images"][0]["bufferView"]]
        view["byteOffset"], view["byteLength"] = len(chunk), len(jpeg)
        chunk += jpeg + b"\0" * (-len(jpeg) % 4)
        document["buffers"][0]["byteLength"] = len(chunk)
        text = json.dumps(document).encode()
        text += b" " * (-len(text) % 4)
        with open(path("b.glb"), "wb") as file:
            file.write(struct.pack("<4sII", b"glTF", 2, 28 + len(text) + len(chunk)) + struct.pack("<I4s", len(text), b"JSON")
                       + text + struct.pack("<I4s", len(chunk), b"BIN\0") + chunk)
        self.assertIn("more than pixels", run("photo", path("b.glb")).stdout)
        plain = self.printed(MAPS[0], "--no-pictures")
        for name in ("a.glb", "b.glb"):
            self.assertEqual(squeezed(self.printed(path(name), "--no-pictures")).count("confirmed"), plain.count("confirmed"))
            shown = [line.split() for line in tool("pdfimages", "-list", self.pdf).splitlines()[2:]]
            # Out and back, each at least once; as tall as may be: 58 mm for 800 pixels.
            self.assertGreaterEqual(len(shown), 2)
            for line in shown:
                self.assertEqual(line[3:5], ["600", "800"])
                self.assertAlmostEqual(float(line[13]), 800 / 58 * 25.4, delta=2)
            with open(self.pdf, "rb") as file:
                pdf = file.read()
            for secret in camera.SECRETS:
                self.assertNotIn(secret, pdf)
            # On the page of the step that takes the pump off.
            step = next(s for s in json.loads(run("order", path(name), "--json").stdout)["steps"] if s["photos"])
            page = squeezed(tool("pdftotext", "-layout", "-f", shown[0][0], "-l", shown[0][0], self.pdf, "-"))
            self.assertIn(squeezed(step["headline"]), page)

    def test_what_is_used_once_is_listed_and_nothing_calls_itself_harmless(self):
        text = self.printed(MAPS[1], "--no-pictures")
        self.assertIn("4×nutM10x1.25,10", text.replace("M10×", "M10x"))
        self.assertIn("Penetratingoilon5fasteners", text)
        for word in ("safe", "stable"):
            self.assertNotRegex(text.lower(), rf"\b{word}")

    def test_the_persons_unit_stands_beside_the_manuals_own(self):
        text = self.printed(MAPS[1], "--no-pictures", "--unit", "lbf·ft")
        # NIST SP 811, appendix B: 1 lbf·ft = 1.355818 N·m.
        self.assertIn(f"{64 / 1.355818:.0f}lbf·ft", text)
        self.assertIn("themanual'sown:64N·m", text)

    def test_fonts_are_embedded_and_the_paper_is_the_one_asked_for(self):
        for paper, points in (("a4", (210 / 25.4 * 72, 297 / 25.4 * 72)), ("letter", (612, 792))):
            self.printed(MAPS[0], "--no-pictures", "--paper", paper)
            size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", tool("pdfinfo", self.pdf))
            self.assertAlmostEqual(float(size[1]), points[0], delta=0.5)
            self.assertAlmostEqual(float(size[2]), points[1], delta=0.5)
            fonts = tool("pdffonts", self.pdf).splitlines()[2:]
            self.assertTrue(fonts)
            for font in fonts:
                self.assertRegex(font, r"\byes\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+$")  # the first: embedded

    def test_the_board_is_true_to_scale(self):
        self.printed(MAPS[1], "--no-pictures")
        per_mm = 10
        pages = int(re.search(r"Pages:\s+(\d+)", tool("pdfinfo", self.pdf))[1])
        boards = lengths = 0
        for number in range(1, pages + 1):
            words = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)<',
                               tool("pdftotext", "-bbox", "-f", str(number), "-l", str(number), self.pdf, "-"))
            if not any(word[4] == "mm:" for word in words):
                continue
            boards += 1
            page = Page(self.pdf, number, per_mm, self.folder.name)
            rule = max(page.longest_across(y, int(page.width * 0.7)) for y in range(page.height // 3))
            self.assertAlmostEqual(rule / per_mm, 100, delta=0.3)
            # A size is written as three words, "M10×1.25", "×", "40"; the outline stands above the middle of them.
            for first, second, third in zip(words, words[1:], words[2:]):
                size = re.fullmatch(r"M([\d.]+)(?:[x×][\d.]+)?", first[4])
                if not size or second[4] != "×" or not third[4].isdigit() or first[1] != third[1]:
                    continue
                middle = (float(first[0]) + float(third[2])) / 2 / 72 * 25.4 * per_mm
                foot = float(first[1]) / 72 * 25.4 * per_mm
                length, half = int(third[4]) * per_mm, float(size[1]) * per_mm / 2
                # From just above the size upwards, no farther than this outline reaches.
                for side in (-half, half):
                    # A hexagon's edge may stand in line with the shank's, so the nearest of the columns counts.
                    found = min((page.longest_down(round(middle + side) + near, int(foot) - length - 40, int(foot) + 1)
                                 for near in (-3, -2, -1, 0, 1, 2, 3)), key=lambda run_length: abs(run_length - length))
                    self.assertAlmostEqual(found / per_mm, length / per_mm, delta=0.6, msg=first[4] + third[4])
                lengths += 1
        self.assertGreaterEqual(boards, 2)
        self.assertGreater(lengths, 20)

    def test_a_step_longer_than_a_page_loses_nothing(self):
        path = os.path.join(self.folder.name, "long.gltf")
        words = " ".join(f"word{n}" for n in range(500))
        nodes = [{"name": "frame", "extras": {"part": "Frame", "fixed": True}},
                 {"name": "plate", "extras": {"part": "Plate"}},
                 {"name": "bolts", "children": list(range(3, 303)),
                  "extras": {"group": "Bolts", "fastener": "bolt", "holds": "plate; frame", "thread": "M8",
                             "length_mm": 20, "torque": "22 N·m", "passes": 20, "caution": words, "from": "under"}}]
        nodes += [{"name": f"bolt_{n}", "extras": {"fastener": "bolt"}} for n in range(300)]
        with open(path, "w", encoding="utf-8") as file:
            json.dump({"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0, 1, 2]}], "nodes": nodes}, file)
        text = self.printed(path, "--no-pictures")
        for n in (0, 250, 499):
            self.assertIn(f"word{n}", text)
        # Each bolt's number, out and back, on a page: nothing beyond its edges.
        numbers = 0
        for xmin, ymin, xmax, ymax, word in re.findall(
                r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([^<]*)<',
                tool("pdftotext", "-bbox", self.pdf, "-")):
            self.assertTrue(0 < float(xmin) and float(xmax) < 595 and 0 < float(ymin) and float(ymax) < 842, word)
            numbers += word == "300"
        self.assertGreaterEqual(numbers, 3)

    def test_the_same_job_gives_the_same_file(self):
        self.printed(MAPS[0], "--no-pictures")
        with open(self.pdf, "rb") as file:
            first = file.read()
        self.printed(MAPS[0], "--no-pictures")
        with open(self.pdf, "rb") as file:
            self.assertEqual(file.read(), first)

    def test_pictures_are_there_one_a_step(self):
        self.printed(MAPS[0])
        pictures = [line for line in tool("pdfimages", "-list", self.pdf).splitlines()[2:] if " image " in line]
        steps = sum(len(json.loads(run("order", MAPS[0], "--json", *way).stdout)["steps"]) for way in ([], ["--refit"]))
        self.assertEqual(len(pictures), steps)

    def test_mistakes(self):
        self.assertEqual(run("sheet", MAPS[0], "-o", self.pdf, "--unit", "N").returncode, USAGE)
        self.assertEqual(run("sheet", MAPS[0], "-o", self.pdf, "--paper", "a5").returncode, USAGE)
        self.assertEqual(run("sheet", MAPS[0]).returncode, USAGE)
        self.assertEqual(run("sheet", "no_such_map.glb", "-o", self.pdf).returncode, UNREADABLE)
        nowhere = os.path.join(self.folder.name, "no", "such", "folder.pdf")
        done = run("sheet", MAPS[0], "-o", nowhere, "--no-pictures")
        self.assertEqual(done.returncode, UNREADABLE)
        self.assertIn("cannot be written", done.stderr)

    def pages_of(self):
        return tool("pdftotext", "-layout", self.pdf, "-").split("\f")[:-1]

    def test_each_label_says_what_is_in_the_bag_its_place_and_its_step_back(self):
        self.printed(MAPS[1], "--no-pictures")
        pages = self.pages_of()
        first = next(i for i, page in enumerate(pages) if page.startswith("Labels for bags"))
        text = "\n".join(pages[first:])
        bags = len(re.findall(r"\bOut \d+", text))
        self.assertGreater(bags, 30)
        self.assertEqual(len(re.findall(r"\bboard \d+", text)), bags)
        self.assertEqual(len(re.findall(r"\bBack \d+", text)), bags)
        self.assertNotIn("…", text)
        self.assertNotIn("and more", text)

    def test_a_record_keeps_its_heads_and_is_not_signed_on_an_empty_page(self):
        for path in MAPS:
            copy = os.path.join(self.folder.name, os.path.basename(path))
            shutil.copy(path, copy)
            lines = []
            for way, flags in (("out", []), ("back", ["--refit"])):
                steps = json.loads(run("order", copy, "--json", *flags).stdout)["steps"]
                lines += [f"did {way} {step['number']}" for step in steps]
            entered = subprocess.run([PROGRAM, "log", copy, "--from", "-"], input="\n".join(lines) + "\n",
                                     capture_output=True, encoding="utf-8")
            self.assertEqual(entered.returncode, GOOD, entered.stderr)
            self.assertEqual(run("sheet", copy, "--done", "-o", self.pdf).returncode, GOOD)
            pages = self.pages_of()
            self.assertIn("Nothing is open by the log, but the job was not closed.", pages[0])
            heads = ("What", "Size", "The map says", "Reading", "When, step")
            tightened = [page for page in pages if "not written down" in page]
            self.assertTrue(tightened)
            for page in tightened:
                self.assertTrue(any(all(head in line for head in heads) for line in page.splitlines()), page)
            self.assertIn("To look at afterwards", pages[-1])
            self.assertIn("Done by: name, date, signature", pages[-1])
            # What is tight without a figure is said, each: nobody should think it measured.
            listed = json.loads(run("log", copy, "--untorqued", "--json").stdout)["untorqued"]
            self.assertTrue(listed)
            text = squeezed("".join(pages))
            for one in listed:
                self.assertIsNone(one["torque"])
                self.assertIn(squeezed(f"{one['item']}: torque not stated; tightened, and to what was not logged"), text)

    def test_a_record_without_a_log_says_so(self):
        copy = os.path.join(self.folder.name, "map.glb")
        shutil.copy(MAPS[0], copy)
        done = run("sheet", copy, "-o", self.pdf, "--done")
        self.assertEqual(done.returncode, UNREADABLE)
        self.assertIn("nothing was logged yet", done.stderr)
        self.assertFalse(os.path.exists(self.pdf))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
