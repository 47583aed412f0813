"""What the scenarios of the window have in common: the maps, the steps that several begin with, and how they are run.

The command line of each that imports it: PROGRAM MAP FOLDER [[-]SCENARIO...]
"""

import array
import json
import pathlib
import shutil
import struct
import subprocess
import sys
import time

from screen import Display, Failed, expect

PROGRAM, SHIPPED, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
MAP = FOLDER / "maps" / SHIPPED.name  # copies: the window keeps its log beside the map
BIG = FOLDER / "maps" / "transfer_box.glb"  # on the small map nothing is out of sight
SIZES = ((1280, 800), (2000, 1200))


def without_logs():
    """Fresh copies of the maps, and no log beside them."""
    shutil.rmtree(MAP.parent, ignore_errors=True)
    MAP.parent.mkdir(parents=True)
    for path in (MAP, BIG):
        shutil.copy(SHIPPED.with_name(path.name), path)


# --- maps made for the test


def change_map(name, change, of=None):
    """A copy of the map (or of another one) whose JSON went through `change`."""
    data = (of or SHIPPED).read_bytes()
    length = struct.unpack("<I", data[12:16])[0]
    document = json.loads(data[20 : 20 + length])
    rest = data[20 + length :]
    change(document)
    text = json.dumps(document, ensure_ascii=False).encode()
    text += b" " * (-len(text) % 4)
    whole = struct.pack("<4sII", b"glTF", 2, 20 + len(text) + len(rest)) + struct.pack("<I4s", len(text), b"JSON") + text + rest
    path = FOLDER / name
    path.write_bytes(whole)
    return path


def misspell(document):
    for node in document["nodes"]:
        if "torque" in node.get("extras", {}):
            node["extras"]["torqe"] = node["extras"].pop("torque")
            return


def strip_annotation(document):
    for node in document["nodes"]:
        node.pop("extras", None)
    for scene in document["scenes"]:
        scene.pop("extras", None)


def large_model(name, across):
    """A sheet of across * across vertices: large enough that opening it takes a while."""
    positions = array.array("f")
    for row in range(across):
        for column in range(across):
            positions.extend((column * 0.001, ((row * 7 + column * 3) % 11) * 0.0001, row * 0.001))
    indices = array.array("I")
    for row in range(across - 1):
        for column in range(across - 1):
            a = row * across + column
            indices.extend((a, a + across, a + 1, a + 1, a + across, a + across + 1))
    binary = positions.tobytes() + indices.tobytes()
    document = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"name": "sheet", "mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": across * across, "type": "VEC3",
             "min": [0, 0, 0], "max": [across * 0.001, 0.001, across * 0.001]},
            {"bufferView": 1, "componentType": 5125, "count": len(indices), "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": len(positions) * 4},
            {"buffer": 0, "byteOffset": len(positions) * 4, "byteLength": len(indices) * 4},
        ],
        "buffers": [{"byteLength": len(binary)}],
    }
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    path = FOLDER / name
    path.write_bytes(struct.pack("<4sII", b"glTF", 2, 28 + len(text) + len(binary))
                     + struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(binary), b"BIN\0") + binary)
    return path


def json_of(path):
    data = path.read_bytes()
    return json.loads(data[20 : 20 + struct.unpack("<I", data[12:16])[0]])


# --- what several scenarios do


def read_start_card(window):
    window.until_state(open=True, start_read=False)
    for _ in range(40):
        window.until_still()
        if window.state()["start_read"]:
            return
        window.press("next")
        time.sleep(0.1)
    raise Failed("the start card never ends")


def press_until_on(window, at):
    """The main action until the step is done; a tightening takes one press a bolt and pass."""
    for _ in range(60):
        report = window.report()
        if report["state"]["at"] != at:
            return
        reads_on = window.control("next")["label"] == "Read on"
        window.press("next")
        if reads_on:
            window.until_still()
        else:
            window.until(lambda r: r["state"]["entries"] != report["state"]["entries"] or r["state"]["at"] != at,
                         "the main action does something")
    raise Failed(f"step {at + 1} is never done")


def log_steps(*lines):
    subprocess.run([PROGRAM, "log", str(MAP), "--from", "-"], input="\n".join(lines) + "\n", text=True, check=True,
                   capture_output=True)


def stop_and_go_on(window):
    """Presses Stop while the estimates are worked out, and Go on; a quick machine may have been quicker."""
    report = window.until(lambda r: r["state"]["open"], "an open map")
    if any(c["id"] == "study.stop" for c in report["controls"]):
        window.press("study.stop")
    report = window.until(lambda r: r["state"]["studying"] is False and
                          all(c["label"] == "Go on" for c in r["controls"] if c["id"] == "study.stop"),
                          "a button that lets the estimates go on, or none when all are there")
    stopped = any(c["id"] == "study.stop" for c in report["controls"])
    if stopped:
        expect("topped" in window.control("study.bar")["label"], "the bar says that it was stopped")
    return stopped


def all_estimates(window):
    window.until(lambda r: r["state"]["out_of_sight"] and not any(c["id"] == "study.stop" for c in r["controls"]),
                 "all estimates, and so nothing that can be stopped")
    window.until_still()


def brightness(rows, width, height):
    """Mean of the picture's channels, sampled."""
    sample = [rows[i] for i in range(1, len(rows), 997)]
    return sum(sample) / len(sample)


# --- in the form of the room for marking up


def into_sight(window, name, area="card"):
    """Turns the form, or another area, by the wheel until that control can be pressed."""
    window.until_still()
    for button in [5] * 25 + [4] * 60:
        control = window.control(name)
        if control is not None and not control["cut"]:
            return
        x, y, w, h = window.report()["areas"].get(area) or window.report()["areas"]["panel"]
        window.xdotool("mousemove", round(x + w / 2), round(y + h / 2))
        window.click_at(x + w / 2, y + h / 2, button)
        window.until_still()
    window.shot(FOLDER / "mark_out_of_sight.png")
    raise Failed(f"{name} never comes into sight")


def offer(window, key, value):
    """Chooses an offered value; the form is turned until it is in sight."""
    into_sight(window, f"mark.offers.{key}")
    before = window.state()["marking"]["deeds"]
    window.press(f"mark.offers.{key}")
    window.until(lambda r: any(c["id"] == f"mark.offers.{key}" and c["on"] for c in r["controls"]), f"the choices of {key}")
    window.until_still()
    into_sight(window, f"mark.offer.{key}.{value}")
    window.press(f"mark.offer.{key}.{value}")
    window.until(lambda r: r["state"]["marking"]["deeds"] > before, f"{key} {value} is said")
    window.until_still()


def type_into(window, name, text):
    into_sight(window, name)
    window.press(name)
    window.until_state(typing=True)
    for _ in range(6):  # a key that goes down and up within one frame is not seen
        window.xdotool("keydown", "ctrl", "keydown", "a", "sleep", "0.3", "keyup", "a", "keyup", "ctrl")
        window.type(text)
        window.until_still()
        if window.control(name)["label"] == text:
            return
    raise Failed(f"{name} does not take {text}: {window.control(name)}")


def confirm_everything(window):
    """Takes every proposal; those alike at once."""
    while (left := window.state()["marking"]["proposals"]) > 0:
        window.press(next(c["id"] for c in window.report()["controls"] if c["id"].startswith("mark.proposal.")))
        window.until(lambda r: any(c["id"] == "mark.take" for c in r["controls"]), "its proposal")
        window.until_still()
        window.press("mark.take_alike" if window.control("mark.take_alike") else "mark.take")
        window.until(lambda r: r["state"]["marking"]["proposals"] < left, "it is taken")
        window.until_still()


# --- all of them


def run(on_one_display, on_their_own=()):
    """Those that the command line names, or all but those named with a minus; ends the program."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    only = [name for name in sys.argv[4:] if not name.startswith("-")]
    without = [name[1:] for name in sys.argv[4:] if name.startswith("-")]
    known = {test.__name__ for test in (*on_one_display, *on_their_own)}
    unknown = [name for name in only + without if name not in known]
    failed = 0
    with Display(*SIZES[0]) as display:
        for test in (*on_one_display, *on_their_own):
            if test.__name__ in without or only and test.__name__ not in only:
                continue
            begun = time.monotonic()
            without_logs()
            try:
                test() if test in on_their_own else test(display)
                print(f"passed  {test.__name__}  ({time.monotonic() - begun:.1f} s)", flush=True)
            except Failed as failure:
                failed += 1
                print(f"FAILED  {test.__name__}\n        " + str(failure).replace("\n", "\n        "), flush=True)
    for name in unknown:
        print(f"FAILED  there is no scenario {name}", flush=True)
    print(f"screenshots: {FOLDER}")
    sys.exit(1 if failed or unknown else 0)
