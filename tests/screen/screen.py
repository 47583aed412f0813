"""A real window on a screen with no display: Xvfb shows it, xdotool presses and types, the program's own report
(`boltwalk view --report FILE`) says what stands where. Standard library only."""

import json
import os
import pathlib
import struct
import subprocess
import tempfile
import time
import zlib

WAIT_S = 60  # for one thing to happen: software drawing on a busy machine is slow


class Failed(Exception):
    pass


def png_of(framebuffer, path):
    """Xvfb keeps its screen in a file of X's own window-dump format: 25 words of header, colour cells, then rows."""
    data = pathlib.Path(framebuffer).read_bytes()
    header = struct.unpack(">25I", data[:100])
    header_size, width, height, byte_order, row_size, cells = (header[i] for i in (0, 4, 5, 7, 12, 19))
    start = header_size + 12 * cells
    rows = bytearray()
    for y in range(height):
        row = data[start + y * row_size : start + y * row_size + 4 * width]
        rgb = bytearray(3 * width)
        for channel in range(3):
            rgb[channel::3] = row[2 - channel :: 4] if byte_order == 0 else row[1 + channel :: 4]
        rows += b"\0" + rgb

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    pathlib.Path(path).write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(bytes(rows), 6))
        + chunk(b"IEND", b"")
    )
    return width, height, rows


class Display:
    """An Xvfb of that size; it picks its own number."""

    def __init__(self, width, height, dpi=96):
        self.folder = tempfile.TemporaryDirectory(prefix="boltwalk_screen_")
        read, write = os.pipe()
        self.server = subprocess.Popen(
            ["Xvfb", "-displayfd", str(write), "-screen", "0", f"{width}x{height}x24", "-dpi", str(dpi), "-noreset", "-r", "-fbdir", self.folder.name],
            pass_fds=[write],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(write)
        with os.fdopen(read) as number:
            line = number.readline().strip()
        if not line:
            raise Failed("Xvfb did not start")
        self.name = ":" + line
        self.width, self.height = width, height
        self.framebuffer = pathlib.Path(self.folder.name) / "Xvfb_screen0"

    def environment(self):
        kept = {k: v for k, v in os.environ.items() if k not in ("WAYLAND_DISPLAY", "XAUTHORITY")}
        return {**kept, "DISPLAY": self.name}

    def close(self):
        self.server.terminate()
        self.server.wait()
        self.folder.cleanup()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


class Window:
    """The program, running in a display."""

    def __init__(self, program, display, *arguments, press_gap=0.0, before=(), settings=None, **how):
        """`press_gap`: None for the program's own; without any, a test waits for nothing but what it has asked for.
        `before`: what starts the program; `settings`: the folder of the person's, else an empty one of its own; `how`:
        further arguments of Popen."""
        self.display = display
        self.report_file = pathlib.Path(display.folder.name) / f"report_{time.monotonic_ns()}.json"
        self.started_s = time.monotonic()
        self.given = {"keys": 0, "buttons": 0}
        self.process = subprocess.Popen(
            [*before, str(program), "view", *map(str, arguments), "--width", str(display.width), "--height", str(display.height),
             "--report", str(self.report_file), *([] if press_gap is None else ["--press-gap", str(press_gap)])],
            **how,
            env={**display.environment(), "XDG_CONFIG_HOME": str(settings or self.report_file.with_suffix(".settings"))},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        self.until(lambda r: True, "a first report")

    # --- what is there

    def report(self):
        try:
            return json.loads(self.report_file.read_text())
        except FileNotFoundError:
            return None

    def state(self):
        return self.report()["state"]

    def control(self, name):
        for control in self.report()["controls"]:
            if control["id"] == name:
                return control
        return None

    def until(self, holds, what, within_s=WAIT_S):
        """The report for which `holds(report)`; fails when there is none in time."""
        end = time.monotonic() + within_s
        while True:
            report = self.report()
            if report is not None and holds(report):
                return report
            if self.process.poll() is not None:
                raise Failed(f"the program ended (exit code {self.process.returncode}) while waiting for {what}:\n"
                             + self.process.stdout.read().decode(errors="replace"))
            if time.monotonic() > end:
                raise Failed(f"waited {within_s} s for {what}; the state is {report and report['state']}")
            time.sleep(0.03)

    def until_state(self, within_s=WAIT_S, **wanted):
        return self.until(lambda r: all(r["state"].get(k) == v for k, v in wanted.items()), str(wanted), within_s)

    def until_still(self):
        """The report of a frame after which none comes: everything pressed was taken, nothing moves or opens, and what
        became longer was measured. A frame may take as long as it likes."""
        return self.until(
            lambda r: not r["state"]["moving"] and r["state"]["opening"] is None and not r["settling"] and self.took(r),
            "nothing to move any more")

    def took(self, report):
        return all(report["taken"][what] >= count for what, count in self.given.items())

    # --- what a person does

    def xdotool(self, *arguments):
        subprocess.run(["xdotool", *map(str, arguments)], env=self.display.environment(), check=True)

    def give(self, what, count, *arguments):
        """At least so many presses: the frame that answers them may be long in coming, and until_still() waits for it.
        What is lost on the way is waited for in vain."""
        before = max(self.given[what], self.report()["taken"][what])
        self.xdotool(*arguments)
        self.given[what] = before + count

    def key(self, *names):
        for name in names:
            self.give("keys", name.count("+") + 1, "key", name)

    def main_key(self):
        """The main action by key, once: the frame that is waited for is one that has seen it."""
        presses = self.state()["presses"]
        self.key("space")
        return self.until(lambda r: r["state"]["presses"] > presses, "the key is seen")

    def type(self, text):
        self.give("keys", len(text), "type", "--delay", "5", text)

    def click_at(self, x, y, button=1):
        self.xdotool("mousemove", round(x), round(y))
        self.give("buttons", 1, "click", button)

    def drag(self, x, y, by_x, by_y, button=1):
        self.xdotool("mousemove", round(x), round(y), "mousedown", button)
        for share in (0.25, 0.5, 0.75, 1):
            self.xdotool("mousemove", round(x + share * by_x), round(y + share * by_y))
            time.sleep(0.05)
        self.give("buttons", 1, "mouseup", button)

    def press(self, name):
        """Clicks the middle of a control, where the report says that it is."""
        control = self.control(name)
        if control is None:
            raise Failed(f"no control '{name}' on the screen; there are {[c['id'] for c in self.report()['controls']]}")
        if not control["enabled"]:
            raise Failed(f"the control '{name}' is not enabled")
        x, y, w, h = control["box"]
        self.click_at(x + w / 2, y + h / 2)

    def shot(self, path):
        return png_of(self.display.framebuffer, path)

    def close(self):
        self.process.terminate()
        self.process.wait()
        self.process.stdout.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


# --- what several tests begin or end with


def expect(holds, what):
    if not holds:
        raise Failed(what)


def read_start_card_by_key(window):
    """However long a frame takes: a press that was not seen yet must not be made again, for the next one enters a step."""
    window.until_state(open=True)
    for _ in range(60):
        report = window.until_still()
        if report["state"]["start_read"]:
            return
        window.main_key()
    raise Failed("the start card never ends")


def log_of(program, path, *arguments):
    """What `boltwalk log` says, or does."""
    done = subprocess.run([program, "log", str(path), *arguments], capture_output=True, text=True, check=False)
    expect(done.returncode in (0, 1), f"boltwalk log {arguments}: {done.returncode} {done.stderr}")
    return done.stdout


# --- layout


def box_words(name, box):
    return f"{name} ({', '.join(f'{v:.0f}' for v in box)})"


def share_room(a, b, least=1):
    across = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
    down = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
    return across > least and down > least


def layout_faults(report, glove):
    """`glove`: least size of a target in mm, or True for a glove's 20. Everything that overlaps, is cut off, does not fit its words, or is too small for a gloved hand."""
    faults = []
    width, height = report["window"]["width"], report["window"]["height"]

    def outside(box):
        return box[0] < -1 or box[1] < -1 or box[0] + box[2] > width + 1 or box[1] + box[3] > height + 1

    areas = list(report["areas"].items())
    controls = [(c["id"], c["box"]) for c in report["controls"]]
    for kind in (areas, controls):
        for i, (name, box) in enumerate(kind):
            if outside(box):
                faults.append(f"{box_words(name, box)} lies outside the window")
            for other, its in kind[i + 1 :]:
                if share_room(box, its):
                    faults.append(f"{box_words(name, box)} overlaps {box_words(other, its)}")
    for control in report["controls"]:
        name, box = control["id"], control["box"]
        if control["tight"]:
            faults.append(f"{box_words(name, box)}: its words '{control['label']}' do not fit")
        if control["cut"] and control["role"] not in ("row",) and not scrolled(control, report):
            faults.append(f"{box_words(name, box)} is cut off")
    labels = report["labels"]
    drawing = report["areas"].get("drawing")
    gnomon = report["gnomon"]["box"]
    if drawing and gnomon[2] > 0:
        if not (drawing[0] - 1 <= gnomon[0] and drawing[1] - 1 <= gnomon[1] and gnomon[0] + gnomon[2] <= drawing[0] + drawing[2] + 1
                and gnomon[1] + gnomon[3] <= drawing[1] + drawing[3] + 1):
            faults.append(f"{box_words('the gnomon', gnomon)} leaves the drawing")
        wanted = report["window"]["capital_mm"]
        # Half the drawing's width or height is as much as it may take.
        if report["gnomon"]["capital_mm"] < wanted - 0.3 and 2 * gnomon[2] < drawing[2] - 4 and 2 * gnomon[3] < drawing[3] - 4:
            faults.append(f"the gnomon's capitals are {report['gnomon']['capital_mm']:.1f} mm high, the text's {wanted:.1f}")
        for box in labels:
            if share_room(box, gnomon):
                faults.append(f"{box_words('a label', box)} overlaps {box_words('the gnomon', gnomon)}")
    for i, box in enumerate(labels):
        if drawing and not (drawing[0] - 1 <= box[0] and drawing[1] - 1 <= box[1]
                            and box[0] + box[2] <= drawing[0] + drawing[2] + 1
                            and box[1] + box[3] <= drawing[1] + drawing[3] + 1):
            faults.append(f"{box_words('a label', box)} leaves the drawing")
        for other in labels[i + 1 :]:
            if share_room(box, other):
                faults.append(f"{box_words('a label', box)} overlaps {box_words('another', other)}")
    if glove:
        least_mm = 20 if glove is True else glove
        least = least_mm * report["window"]["px_per_mm"] - 1
        main = 25 * report["window"]["px_per_mm"] - 1
        for control in report["controls"]:
            x, y, w, h = control["box"]
            if control["cut"] or control["role"] == "slider":  # a bar that two buttons beside it do the work of
                continue
            if w < least or h < least:
                faults.append(f"{box_words(control['id'], control['box'])} is smaller than {least_mm} mm")
            if control["id"] == "next" and report["state"]["start_read"] and glove is True and h < main:
                faults.append(f"{box_words(control['id'], control['box'])}: the main action is lower than 25 mm")
    return faults


def scrolled(control, report):
    """A control that is cut above or below, inside an area with buttons to turn it, can be brought into view."""
    names = {c["id"] for c in report["controls"]}
    return any(name.endswith(".more") and name.rsplit(".", 1)[0] + ".earlier" in names for name in names)
