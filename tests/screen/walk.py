#!/usr/bin/python3
"""The whole walk by hand: a real window, every step forward by its button, picking, findings, the way back, the keys.

usage: walk.py PROGRAM MAP FOLDER [[-]SCENARIO...]    (screenshots and the broken copies of the map go to FOLDER)
Only the scenarios named, or all but those named with a minus.
"""

import array
import json
import math
import os
import pathlib
import resource
import shutil
import signal
import socket
import struct
import subprocess
import sys
import time
import urllib.error
import urllib.request

from screen import Display, Failed, Window, expect, layout_faults, log_of, read_start_card_by_key

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


# --- steps that several tests begin with


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


def brightness(rows, width, height):
    """Mean of the picture's channels, sampled."""
    sample = [rows[i] for i in range(1, len(rows), 997)]
    return sum(sample) / len(sample)


# --- tests


def opens_by_path_and_says_what_is_wrong(display):
    with Window(PROGRAM, display) as window:
        window.until(lambda r: any(c["id"] == "path.field" for c in r["controls"]), "the field for a path")
        expect(not window.state()["open"] and window.state()["error"] == "", "no map is open, and that is no error")
        broken = FOLDER / "broken.glb"
        broken.write_bytes(MAP.read_bytes()[:1000])
        window.shot(FOLDER / "welcome.png")
        window.press("path.field")
        window.until_state(typing=True)
        window.type(str(broken))
        window.key("Return")
        window.until(lambda r: "broken.glb" in r["state"]["error"], "an error that names the file")
        window.until_still()
        window.shot(FOLDER / "unreadable.png")
        faults = layout_faults(window.report(), glove=False)
        expect(not faults, "\n".join(faults))
        window.press("path.field")
        window.until_state(typing=True)
        window.until_still()  # Dear ImGui 1.90 hears Ctrl+A from the second frame of a field on
        window.key("ctrl+a")
        window.until_still()  # 1.86 takes what was typed since the last frame before the keys pressed in it
        window.type(str(MAP))
        window.press("path.open")
        window.until_state(open=True, start_read=False, error="")


def another_file_over_an_open_one(display):
    broken = FOLDER / "broken.glb"
    broken.write_bytes(MAP.read_bytes()[:1000])
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        window.key("Right")
        window.until_state(at=1)
        window.until_still()
        window.key("ctrl+o")
        window.until_state(typing=True)
        window.type(str(broken))
        window.key("Return")
        window.until(lambda r: "broken.glb" in r["state"]["error"], "an error that names the file")
        window.until_still()
        window.key("Escape", "Escape")
        state = window.until_state(error="", open=True, at=1)["state"]
        expect(state["steps"] > 3, "what was open still is")
        window.until(lambda r: any(c["id"] == "next" for c in r["controls"]), "the walk goes on")


def start_card_comes_first(display):
    with Window(PROGRAM, display, MAP) as window:
        window.until_state(open=True)
        window.until_still()
        window.shot(FOLDER / "start.png")
        before = window.state()
        expect(not before["start_read"], "the start card waits to be read")
        window.key("Left", "End", "r", "n")
        time.sleep(0.4)
        state = window.state()
        expect((state["at"], state["way"], state["picked"], state["start_read"]) == (0, "strip", None, False),
               f"no key gets past the start card: {state}")
        read_start_card(window)


def walks_down_and_back_by_the_button(display):
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        expect(window.control("back")["enabled"] is False, "nothing lies before the first step")
        headlines = []
        for way in ("strip", "refit"):
            steps = window.until_state(way=way, at=0)["state"]["steps"]
            expect(steps > 3, f"the {way} has steps")
            for at in range(steps):
                report = window.until_state(way=way, at=at)
                headlines.append(report["state"]["headline"])
                if at in (0, steps // 2):
                    window.until_still()
                    window.shot(FOLDER / f"{way}_{at + 1}.png")
                    faults = layout_faults(window.report(), glove=False)
                    expect(not faults, "\n".join(faults))
                press_until_on(window, at)
            window.until_state(way=way, at=steps, headline=None)
            if way == "strip":
                window.press("next")
        window.until_still()
        window.shot(FOLDER / "closing_clean.png")
        expect(window.control("next")["label"] == "Close the job", f"nothing is open after a whole walk, yet: {window.control('next')['label']}")
        window.press("next")
        window.until_state(closed=True)
        window.until_still()
        expect(window.control("next")["enabled"] is False, "after the job is closed there is nothing more to press")
        expect(all(headlines), "every step has a headline")
        expect(len(set(headlines)) > len(headlines) // 2, "the headlines differ")
        window.press("back")
        window.until_state(at=steps - 1)


def keeps_the_log_through_damage_kill_and_closing(display):
    def tick(name):
        return window.control("tick." + name)

    def faultless(shot):
        report = window.until_still()
        window.shot(FOLDER / shot)
        faults = layout_faults(report, glove=False)
        expect(not faults, f"{shot}: " + "\n".join(faults))
        return report

    bolt = "pump_bolt_long_1"
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        expect(not pathlib.Path(str(MAP) + ".log.sqlite").exists(), "no log before the first entry")
        for at in range(40):
            window.until_state(way="strip", at=at)
            report = window.until_still()  # a press changes the state before the card is drawn anew
            if tick(bolt) is not None and "Take out" in report["state"]["headline"]:
                break
            press_until_on(window, at)
        expect(tick(bolt) is not None, "the step of the pump's bolts shows a mark for each")
        report = faultless("log_before_out.png")
        # All out in one press; then the exception, by its mark.
        expect(window.control("next")["label"] == "All 5 out", window.control("next")["label"])
        entries = report["state"]["entries"]
        window.press("next")
        report = window.until_state(at=at + 1, stored=True, entries=entries + 5)
        window.press("back")
        window.until_state(at=at)
        window.until_still()
        window.press("tick." + bolt)
        report = window.until_state(entries=entries + 6, at=at)
        expect(window.control("next")["label"] == "The other one out", "one is not out after all: " + window.control("next")["label"])
        # The same in the drawing: a click on its number, or its head, and once more.
        window.until_still()
        spot = [m for m in window.report()["marks"] if m["name"] == bolt][0]["at"]
        window.click_at(*spot)
        window.until_state(entries=entries + 7)
        expect(window.control("next")["label"] == "Next step", "all are out again")
        window.press("undo")
        window.until_state(entries=entries + 8, at=at)
        # Damage in two presses: the sheet by the right button, then what happened.
        window.until_still()
        window.click_at(*spot, button=3)
        window.until_state(picked=bolt, panel="About")
        window.until_still()
        window.press("happened.sheared")
        report = window.until_state(entries=entries + 9, stored=True)
        expect("heared" in report["state"]["said"], report["state"]["said"])
        faultless("log_sheared.png")
        # Something the map does not know.
        window.key("i")
        window.until_state(panel="In the way", typing=True)
        window.type("a cable tie round the hose")
        window.key("Return")
        window.until_state(entries=entries + 10)
        window.key("Escape")
        faultless("log_in_the_way.png")
        window.press("ledger")
        window.until_state(panel="Tray")
        report = faultless("log_tray.png")
        label = window.control("ledger")["label"]
        expect("1 scrapped" in label and "in tray" in label, "the ledger tells of the sheared one: " + label)
        place = report["state"]
        window.process.send_signal(signal.SIGKILL)
        window.process.wait()
    told = json.loads(log_of(PROGRAM, MAP, "--json"))
    expect(len(told["entries"]) == entries + 10, "the log on disk has all that was acknowledged")
    with Window(PROGRAM, display, MAP) as window:
        report = window.until_state(open=True, start_read=False)
        state = window.until_still()["state"]
        expect(state["resumed"] and state["entries"] == entries + 10, f"it is taken up again: {state}")
        window.shot(FOLDER / "log_resumed.png")
        read_start_card(window)
        # The sheared one is accounted for, so the step is done.
        window.until_state(way="strip")
        at = window.state()["at"]
        steps = window.state()["steps"]
        # What another program enters is seen within seconds.
        log_of(PROGRAM, MAP, "noted: from beside")
        window.until_state(entries=entries + 11, within_s=20)
        while at < steps:
            press_until_on(window, at)
            at = window.state()["at"]
        window.press("next")
        window.until_state(way="refit")
        steps = window.state()["steps"]
        turned = False
        for _ in range(steps):
            state = window.until_still()["state"]
            if state["at"] >= steps:
                break
            if state["headline"].startswith("Tighten") and len([c for c in window.report()["controls"] if c["id"].startswith("tick.pump")]) > 2 and not turned:
                turned = True
                faultless("log_turn.png")
                names = [c["id"] for c in window.report()["controls"] if c["id"].startswith("tick.pump")]
                before = window.state()["entries"]
                window.press("next")  # the first in the order
                window.until_state(entries=before + 1)
                window.until_still()
                window.press(names[2])  # one out of turn, by its mark
                window.until_state(entries=before + 2)
                faultless("log_turn_two.png")
            press_until_on(window, state["at"])
        expect(turned, "a tightening of several bolts was walked")
        window.until_state(at=steps)
        faultless("log_closing_open.png")
        label = window.control("next")["label"]
        expect(label.startswith("Close over") and not window.control("next")["enabled"], "open things hold the closing: " + label)
        window.press("why.field")
        window.until_state(typing=True)
        window.type("thread repaired by the workshop")
        window.key("Return")
        window.until_state(closed=True, stored=True)
        report = faultless("log_closed.png")
        label = window.control("untorqued")["label"]
        expect(label == "No torque stated 3", "cap and clips are no work left over: " + label)
        window.press("untorqued")
        window.until_state(panel="Not torqued")
        faultless("log_untorqued.png")
    now = json.loads(log_of(PROGRAM, MAP, "--now", "--json"))
    expect(now["closed"] and now["closed_why"] == "thread repaired by the workshop", "closed, and why")
    for count in now["ledger"]:
        expect(count["came_out"] == count["in_tray"] + count["refitted"] + count["elsewhere"] + count["scrapped"] + count["missing"],
               f"the ledger balances: {count}")


def goes_on_in_memory_with_a_standing_warning(display):
    pathlib.Path(str(MAP) + ".log.sqlite").mkdir()
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        window.press("next")
        report = window.until_state(at=1, stored=False)
        expect(report["state"]["warning"], "a warning stands")
        report = window.until_still()
        expect("warning" in report["areas"], "it has a place of its own")
        window.shot(FOLDER / "log_warning.png")
        faults = layout_faults(report, glove=False)
        expect(not faults, "\n".join(faults))
        window.press("next")
        window.until_state(at=2)


def goes_on_when_the_disk_is_full(display):
    """A limit on a file's size stands for the disk: what cannot be written stays in memory, and is written when it can."""
    log = pathlib.Path(str(MAP) + ".log.sqlite")
    log_of(PROGRAM, MAP, *[f"noted: {i} " + "x" * 3000 for i in range(12)])
    room = log.stat().st_size - 8192  # what is added comes last

    def ignore_the_signal():  # a full disk sends none
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

    with Window(PROGRAM, display, MAP, preexec_fn=ignore_the_signal, restore_signals=False) as window:
        read_start_card_by_key(window)
        press_until_on(window, 0)
        window.until_state(stored=True, at=1)
        resource.prlimit(window.process.pid, resource.RLIMIT_FSIZE, (room, resource.RLIM_INFINITY))
        press_until_on(window, 1)
        at = window.until_state(stored=False)["state"]["at"]
        kept = len(json.loads(log_of(PROGRAM, MAP, "--json"))["entries"])
        for _ in range(3):
            press_until_on(window, window.state()["at"])
        report = window.until_still()
        expect(report["state"]["at"] == at + 3, "the walk goes on in memory")
        expect(report["state"]["warning"] and "warning" in report["areas"], "and a warning stands, in a place of its own")
        expect(report["state"]["entries"] > kept, "more is in memory than on disk")
        window.shot(FOLDER / "log_disk_full.png")
        faults = layout_faults(report, glove=False)
        expect(not faults, "\n".join(faults))
        # Room again: with the next entry, or by itself, all is written.
        resource.prlimit(window.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        window.until_state(warning="", within_s=20)
        press_until_on(window, window.state()["at"])
        entries = window.until_state(stored=True, warning="")["state"]["entries"]
    expect(len(json.loads(log_of(PROGRAM, MAP, "--json"))["entries"]) == entries, "nothing of it is lost")


def goes_on_when_it_may_not_write(display):
    """A folder that takes no new file. Who runs this as root lays that power down first."""
    before = ("setpriv", "--bounding-set", "-dac_override", "--inh-caps", "-dac_override") if os.geteuid() == 0 else ()
    MAP.parent.chmod(0o555)
    try:
        with Window(PROGRAM, display, MAP, before=before) as window:
            read_start_card_by_key(window)
            press_until_on(window, 0)
            report = window.until_state(at=1, stored=False)
            expect(report["state"]["warning"], "a warning stands")
            press_until_on(window, 1)
            report = window.until_still()
            expect(report["state"]["at"] == 2 and not list(MAP.parent.glob("*.sqlite*")), "the walk goes on, and nothing is on disk")
            window.shot(FOLDER / "log_no_permission.png")
            faults = layout_faults(report, glove=False)
            expect(not faults, "\n".join(faults))
            MAP.parent.chmod(0o755)
            press_until_on(window, 2)
            entries = window.until_state(stored=True, warning="")["state"]["entries"]
        expect(len(json.loads(log_of(PROGRAM, MAP, "--json"))["entries"]) == entries, "all of it is written once it may")
    finally:
        MAP.parent.chmod(0o755)


def one_press_is_one_step(display):
    def entered(what, act):
        before = window.until_still()["state"]
        time.sleep(0.6)  # longer than a tap's own echo
        act()
        window.until(lambda r: r["state"]["entries"] > before["entries"], what)
        time.sleep(0.6)
        after = window.until_still()["state"]
        expect(after["at"] == before["at"] + 1, f"{what}: from step {before['at'] + 1} to {after['at'] + 1}")

    with Window(PROGRAM, display, MAP, press_gap=None) as window:
        read_start_card_by_key(window)
        expect(window.until_still()["state"]["entries"] == 0, "who reads the card's end by a double press enters nothing")
        x, y, w, h = window.control("next")["box"]
        window.xdotool("mousemove", round(x + w / 2), round(y + h / 2))
        for gap_ms in (0, 60, 150, 250):
            entered(f"two taps {gap_ms} ms apart", lambda gap=gap_ms: window.xdotool("click", "--repeat", 2, "--delay", gap, 1))
        entered("a key pressed three times", lambda: window.xdotool("key", "--delay", 40, "space", "space", "space"))
        # Held down it repeats itself, here as often as a keyboard does.
        entered("a key held down", lambda: window.xdotool("keydown", "space", "sleep", 1.5, "keyup", "space"))
        # And who means it is not kept waiting.
        entered("one tap", lambda: window.xdotool("click", 1))


def cautions_are_read_before_the_next_step(display):
    with Window(PROGRAM, display, MAP, "--reach", "helper") as window:
        read_start_card_by_key(window)
        window.until_state(start_read=True, at=0)
        window.until_still()
        expect(window.control("next")["label"] == "Read on", "the first step's caution lies below what is seen from 3 m")
        window.key("space", "space")
        for _ in range(30):
            window.until_still()
            label = window.control("next")["label"]
            if label != "Read on":
                break
            expect(window.state()["at"] == 0, "no step before its caution was in sight")
            window.press("next")
        expect(label != "Read on", "the caution comes into sight")
        window.shot(FOLDER / "caution_from_3_m.png")
        window.press("next")
        window.until_state(at=1)


def goes_by_keys_alone(display):
    with Window(PROGRAM, display, MAP) as window:
        read_start_card_by_key(window)
        steps = window.until_state(start_read=True, at=0)["state"]["steps"]
        for key, at in (("Right", 1), ("Next", 2), ("space", 3), ("Left", 2), ("Prior", 1), ("End", steps), ("Home", 0)):
            window.key(key)
            window.until_state(at=at)
        for key, panel in (("F1", "Keys"), ("F2", "Steps"), ("F3", "Find"), ("F4", "Findings"), ("F5", "About"),
                           ("F6", "Display"), ("h", "Keys")):
            window.key(key)
            window.until_state(panel=panel)
            if panel == "Find":
                window.until_state(typing=True)
                window.key("Escape")
                window.until_state(typing=False)
        window.key("period")  # looks on, and enters nothing
        window.until_state(at=1, entries=3)
        window.key("u")
        window.until_state(entries=4, at=2)
        window.key("r")
        window.until_state(way="refit", at=0)
        window.key("r")
        window.until_state(way="strip", at=2)
        window.key("l")
        window.until_state(labels=False)
        window.key("g")
        window.until_state(see_through=True)
        window.key("e", "e")
        window.until(lambda r: r["state"]["explode"] == 0.5, "explode at a half")
        window.until_still()
        window.shot(FOLDER / "exploded.png")
        window.key("shift+e", "shift+e", "l", "g")
        window.until_state(labels=True, see_through=False, explode=0.0)
        yaw = window.until_still()["state"]["camera"]["yaw"]
        window.key("shift+Right")
        window.until(lambda r: abs(r["state"]["camera"]["yaw"] - yaw) > 5, "the view turned")
        window.until_state(by_hand=True)
        window.key("Right")
        window.until_state(at=3, by_hand=False)
        # Tab goes round all there is, and Enter presses.
        window.key("F2")
        window.until_still()
        seen = []
        for _ in range(80):
            before = [c["id"] for c in window.report()["controls"] if c["focused"]]
            window.key("Tab")
            # However long the frame takes: two Tabs between two looks would leave one out.
            focused = before
            begun = time.monotonic()
            while focused == before and time.monotonic() - begun < 5:
                time.sleep(0.02)
                focused = [c["id"] for c in window.report()["controls"] if c["focused"]]
            if focused and focused[0] in seen and focused[0] == seen[0] and len(seen) > 10:
                break
            seen += [f for f in focused if f not in seen]
        for name in ("next", "back", "panel.Steps", "panel.Find", "panel.Findings", "panel.Display", "panel.Keys",
                     "way.strip", "way.refit", "look.all", "look.under", "explode.more", "labels", "glass", "step.1"):
            expect(name in seen, f"Tab never came to '{name}', only to {seen}")
        for _ in range(80):
            if window.control("panel.Display")["focused"]:
                break
            window.key("Tab")
            time.sleep(0.08)
        window.key("Return")
        window.until_state(panel="Display")


def picks_in_the_drawing_and_follows_what_holds(display):
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        window.key("F3")
        window.until_state(panel="Find", typing=True)
        window.type("m8 x 80")
        window.until(lambda r: [c["id"] for c in r["controls"] if c["id"].startswith("found.")] == ["found.pump_bolt_long_1"], "found by its size")
    without_logs()
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        picked = None
        for _ in range(window.state()["steps"]):
            report = window.until_still()
            clear = [m for m in report["marks"] if m["under"] == m["name"]]
            if clear:
                window.click_at(*clear[0]["at"], button=3)
                window.until_state(picked=clear[0]["name"], panel="About")
                picked = clear[0]["name"]
                break
            window.key("Right")
            time.sleep(0.2)
        expect(picked, "some step shows a fastener that can be clicked")
        window.until_still()
        window.shot(FOLDER / "about.png")
        window.key("Escape")
        window.until_state(picked=None)
        # A click on the bare ground lets go too.
        window.key("n")
        window.until(lambda r: r["state"]["picked"] is not None, "the step's own item by key")
        # What still holds a part leads to a fastener: the part is found by name.
        window.key("Home", "F3")
        window.until_state(panel="Find", typing=True)
        window.type("pump")
        window.until_still()
        window.shot(FOLDER / "find.png")
        rows = [c for c in window.report()["controls"] if c["id"].startswith("found.")]
        expect(rows, "the search finds something")
        for row in rows:
            window.key("Escape")
            window.press(row["id"])
            window.until(lambda r: r["state"]["picked"] == row["id"].split(".", 1)[1], "the row's item is picked")
            window.until_still()
            holders = [c for c in window.report()["controls"] if c["id"].startswith("holder.")]
            if holders:
                item = window.state()["picked"]
                window.press(holders[0]["id"])
                window.until(lambda r: r["state"]["picked"] not in (None, item), "the holder is picked in its stead")
                return
            window.key("F3")
            window.until_state(panel="Find")
            window.until_still()
        raise Failed("nothing that was found is held by anything")


def findings_lead_to_their_place(display):
    wrong = change_map("misspelt.glb", misspell)
    with Window(PROGRAM, display, wrong) as window:
        read_start_card(window)
        expect(window.state()["findings"] > 0, "the misspelt key is a finding")
        window.press("panel.Findings")
        window.until_state(panel="Findings")
        window.until_still()
        rows = [c for c in window.report()["controls"] if c["id"].startswith("finding.") and "torqe" in c["label"]]
        expect(rows, "a row that names the misspelt key")
        expect(rows[0]["label"].split(":")[0] in ("Fault", "Doubt", "Note"), "its weight is said in a word")
        window.press(rows[0]["id"])
        window.until(lambda r: r["state"]["picked"] is not None, "the finding's node is picked")
        window.until_still()
        window.shot(FOLDER / "findings.png")


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


def rounds_through_what_is_out_of_sight(display):
    with Window(PROGRAM, display, BIG) as window:
        if stop_and_go_on(window):
            window.press("study.stop")
        all_estimates(window)
        window.press("tour")
        window.until_state(tour=0)
        first = window.until_still()
        window.shot(FOLDER / "out_of_sight.png")
        faults = layout_faults(first, glove=False)
        expect(not faults, "\n".join(faults))
        expect(first["areas"]["drawing"][2] > first["areas"]["card"][2], "on the round the drawing is wider than the card")
        window.press("next")
        window.until_state(tour=1)
        window.key("Right", "Left", "Left")
        window.until_state(tour=0)
        window.key("Right")
        window.until_state(tour=1)
        second = window.until_still()
        expect(first["state"]["camera"] != second["state"]["camera"], "each is looked at from its own place")
        window.press("tour.leave")
        window.until_state(tour=None, start_read=False)
        read_start_card(window)
        # A part of the big map that is lifted: way, centre of mass, tool are there, and go with M.
        drawings = window.until_still()["drawings"]
        window.key("m")
        window.until_state(estimates=False)
        window.key("m")
        window.until_state(estimates=True)
        window.key("e")
        window.until(lambda r: r["state"]["explode"] == 0.25, "pulled apart by a quarter")
        expect(window.until_still()["drawings"] > drawings, "it is drawn anew")


def turns_by_pointer_and_sleeps(display):
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        report = window.until_still()
        x, y, w, h = report["areas"]["drawing"]
        start = report["state"]["camera"]
        window.drag(x + w / 2, y + h / 2, 90, 30)
        window.until(lambda r: abs(r["state"]["camera"]["yaw"] - start["yaw"]) > 5, "the view turned by the left button")
        turned = window.until_still()["state"]["camera"]
        window.drag(x + w / 2, y + h / 2, 60, 0, button=3)
        window.until(lambda r: r["state"]["camera"]["target"] != turned["target"], "the view moved by the right button")
        moved = window.until_still()["state"]["camera"]
        expect(moved["yaw"] == turned["yaw"], "moving does not turn")
        window.click_at(x + w / 2, y + h / 2, button=4)
        window.until(lambda r: r["state"]["camera"]["distance_m"] < moved["distance_m"], "nearer by the wheel")
        for name in ("under", "front", "over"):
            window.press("look." + name)
            window.until_still()
        expect(window.state()["camera"]["pitch"] > 45, "seen from over, the eye is above")
        window.press("look.step")
        window.until_state(by_hand=False)
        # It sleeps: two seconds without a frame.
        window.xdotool("mousemove", 5, 5)
        frames = window.until_still()["frames"]
        time.sleep(2)
        expect(window.report()["frames"] == frames, f"nothing happens, and yet {window.report()['frames'] - frames} frames were drawn")
        # The panels move, the drawing stays: it is not drawn anew.
        drawings = window.report()["drawings"]
        window.press("panel.Keys")
        window.until_state(panel="Keys")
        window.until_still()
        expect(window.report()["drawings"] == drawings, "the drawing was drawn anew for a panel that leaves its box alone")


def night_is_dark(display):
    with Window(PROGRAM, display, MAP) as window:
        read_start_card(window)
        window.until_still()
        width, height, day = window.shot(FOLDER / "day.png")
        window.key("d")
        window.until_state(light="night")
        window.until_still()
        width, height, night = window.shot(FOLDER / "night.png")
        light, dark = brightness(day, width, height), brightness(night, width, height)
        expect(light > 150 and dark < 90, f"daylight is light ({light:.0f} of 255), night is dark ({dark:.0f})")
        window.key("F6")
        window.until_state(panel="Display")
        window.until_still()
        window.press("light.day")
        window.until_state(light="daylight")


def sizes_follow_the_ruler(display):
    """The bar was too short by the ruler: "Longer" pressed until it is right. It stays under the finger meanwhile;
    everything grows with it as soon as anything else is pressed."""
    def sizes():
        into_sight(window, "ruler.longer", "panel")
        report = window.report()
        px_per_mm = report["window"]["px_per_mm"]
        return {"a millimetre": px_per_mm, "letters": report["window"]["capital_mm"] * px_per_mm,
                "a target": window.control("ruler.longer")["box"][3], "the gnomon's letters": report["gnomon"]["capital_mm"] * px_per_mm}

    def press(name, grows, times):
        into_sight(window, name, "panel")
        where = window.control(name)["box"]
        for _ in range(times):
            before = window.report()["window"]["px_per_mm"]
            window.press(name)
            window.until(lambda r: (r["window"]["px_per_mm"] > before * 1.01) if grows else (r["window"]["px_per_mm"] < before / 1.01),
                         f"{name} changes the bar")
            window.until_still()
            expect(window.control(name)["box"] == where, f"{name} stays where it is: {where}, then {window.control(name)['box']}")
        window.shot(FOLDER / f"{name}.png")
        into_sight(window, "light.day", "panel")
        window.press("light.day")
        window.until_still()

    with Window(PROGRAM, display, MAP, "--reach", "hand") as window:
        read_start_card(window)
        window.key("F6")
        window.until_state(panel="Display")
        window.until_still()
        before = sizes()
        press("ruler.longer", True, 6)
        after = sizes()
        window.shot(FOLDER / "ruler_longer.png")
        for what, value in after.items():
            share = value / before[what] / 1.02**6
            expect(0.93 < share < 1.07, f"{what}, in pixels, grew as the bar did: from {before[what]:.2f} to {value:.2f}")
        report = window.report()
        expect(report["window"]["capital_mm"] >= 3.2, f"capitals are still 3.2 mm high: {report['window']['capital_mm']:.2f}")
        faults = layout_faults(report, True)
        expect(not faults, "\n".join(faults))
        press("ruler.shorter", False, 6)
        again = sizes()
        for what, value in again.items():
            expect(abs(value / before[what] - 1) < 0.02, f"{what} is as before: {before[what]:.2f}, then {value:.2f}")


def remembers_the_screen_from_start_to_start(display):
    """The ruler's correction, light and distance; what the command line states goes before it and is not kept."""
    settings = FOLDER / "settings"
    shutil.rmtree(settings, ignore_errors=True)
    kept = settings / "boltwalk" / "screens.json"

    def looked_at(*options):
        with Window(PROGRAM, display, MAP, *options, settings=settings) as window:
            window.until_state(open=True)
            report = window.until_still()
            return report["window"]["px_per_mm"], report["state"]["light"], report["state"]["reach"]

    with Window(PROGRAM, display, MAP, settings=settings) as window:
        read_start_card(window)
        first = window.until_still()["window"]["px_per_mm"]
        expect(not kept.exists(), "nothing was changed, nothing is written")
        window.key("F6")
        window.until_state(panel="Display")
        window.until_still()
        into_sight(window, "ruler.longer", "panel")
        window.press("ruler.longer")
        window.until(lambda r: r["window"]["px_per_mm"] > first * 1.01, "the bar is longer")
        window.key("d")
        window.until_state(light="night")
        window.until_still()
        into_sight(window, "reach.hand", "panel")
        window.press("reach.hand")
        window.until(lambda r: r["state"]["reach"] == "hand", "read from the hand's distance")
        window.until_still()
    again = looked_at()
    expect(abs(again[0] / first / 1.02 - 1) < 1e-6 and again[1:] == ("night", "hand"), f"as it was left: {again}, {first}")
    before = kept.read_text()
    stated = looked_at("--day", "--reach", "desk")
    expect(stated[1:] == ("daylight", "desk") and kept.read_text() == before, f"stated, and not kept: {stated}")
    screen, = json.loads(before)
    kept.write_text(json.dumps({"another": {"night": False}, screen: {"settings": 1, "px_per_mm": "long", "reach": 7}}))
    expect(looked_at() == (first, "daylight", "desk"), "what is no setting is left out")
    kept.write_text("{")
    expect(looked_at() == (first, "daylight", "desk"), "a file that is none neither")


def reads_each_step_aloud_once_switched_on(display):
    """With a stand-in for the speech service: it writes down what it is asked to say."""
    heard = FOLDER / "heard.txt"
    heard.unlink(missing_ok=True)
    voice = FOLDER / "voice" / "spd-say"
    voice.parent.mkdir(exist_ok=True)
    voice.write_text(f'#!/bin/sh\nfor last; do :; done\necho "$last" >> "{heard}"\n')
    voice.chmod(0o755)
    path = os.environ["PATH"]
    os.environ["PATH"] = f"{voice.parent}:{path}"
    try:
        with Window(PROGRAM, display, MAP) as window:
            read_start_card(window)
            window.key("period")
            window.until_state(at=1)
            window.until_still()
            expect(not heard.exists(), "nothing is read aloud unasked")
            window.key("F6")
            window.until_still()
            window.press("aloud")
            window.until_still()
            window.shot(FOLDER / "display_voice.png")
            window.key("period")
            window.until_state(at=2)
            window.until_still()
            headline = window.state()["headline"]
            end = time.monotonic() + 20
            while not (heard.exists() and len(heard.read_text().splitlines()) == 2):
                expect(time.monotonic() < end, f"two steps are read: {heard.exists() and heard.read_text()}")
                time.sleep(0.05)
            said = heard.read_text().splitlines()
            expect(said[0].startswith("Step 2 of ") and said[1].startswith(f"Step 3 of {window.state()['steps']}. {headline}"),
                   f"the sentence of the step: {said}")
    finally:
        os.environ["PATH"] = path


def turns_the_picture_as_one_lies(display):
    with Window(PROGRAM, display, BIG) as window:
        read_start_card_by_key(window)
        for _ in range(40):
            report = window.until_still()
            if any(c["id"] == "lie.rearward" for c in report["controls"]):
                break
            window.key("period")
        window.shot(FOLDER / "lying_as_seen.png")
        faults = layout_faults(report, glove=False)
        expect(not faults, "\n".join(faults))
        before = report["state"]["camera"]
        lit = [c["id"] for c in report["controls"] if c["id"].startswith("lie.") and c["on"]]
        expect(len(lit) == 1, f"seen from under one of the two holds, also before anybody asked: {lit}")
        window.press("lie.forward")
        window.until_still()
        expect(window.control("lie.forward")["on"] and not window.control("lie.rearward")["on"], "what was asked for holds")
        window.shot(FOLDER / "lying_head_forward.png")
        window.press("lie.rearward")
        report = window.until_still()
        window.shot(FOLDER / "lying_head_rearward.png")
        expect(report["state"]["camera"] == before, "the picture is turned, the eye stays")
        expect(window.control("lie.rearward")["on"] and not window.control("lie.forward")["on"], "one way or the other")
        # From elsewhere neither does anything, and neither can be pressed.
        window.press("look.front")
        report = window.until_still()
        for control in report["controls"]:
            expect(not control["id"].startswith("lie.") or not (control["on"] or control["enabled"]), f"from the front: {control}")


def looks_at_what_is_not_annotated(display):
    bare = change_map("bare.glb", strip_annotation)
    with Window(PROGRAM, display, bare) as window:
        window.until_state(open=True, steps=0)
        report = window.until_still()
        expect("drawing" in report["areas"], "it is drawn")
        expect("next" not in [c["id"] for c in report["controls"]], "there is no step to take")
        window.shot(FOLDER / "unannotated.png")
        faults = layout_faults(report, glove=False)
        expect(not faults, "\n".join(faults))
        window.press("look.under")
        window.until(lambda r: r["state"]["camera"]["pitch"] < -20, "seen from under")


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


def marks_up_a_stripped_map(display):
    """From a model without a word to a map that checks clean, through damage, undo and a kill."""
    bare = change_map("to_mark.glb", strip_annotation)
    made = FOLDER / "to_mark_marked.glb"
    for path in (made, pathlib.Path(f"{bare}.marking")):
        path.unlink(missing_ok=True)

    def marking(window):
        return window.state()["marking"]

    with Window(PROGRAM, display, bare, "--mark") as window:
        window.until(lambda r: r["state"]["marking"] is not None, "the room")
        report = window.until_still()
        faults = layout_faults(report, glove=False)
        expect(not faults, "\n".join(faults))
        window.shot(FOLDER / "mark_1.png")
        # Every proposal is confirmed by hand; those alike at once.
        confirm_everything(window)
        window.shot(FOLDER / "mark_2.png")
        deeds = marking(window)["deeds"]
        expect(deeds >= 7 and marking(window)["unsaved"], f"{deeds} deeds, not saved")
        # Undone and done again.
        window.press("mark.undo")
        window.until(lambda r: r["state"]["marking"]["deeds"] == deeds - 1 and r["state"]["marking"]["proposals"] > 0, "undone")
        window.press("mark.redo")
        window.until(lambda r: r["state"]["marking"]["deeds"] == deeds and r["state"]["marking"]["proposals"] == 0, "done again")
        # The body that stays.
        window.press("mark.tab.nodes")
        type_into(window, "mark.find", "engine_block")
        window.press("mark.node.engine_block")
        window.until(lambda r: r["state"]["marking"]["picked"] == ["engine_block"], "it is picked")
        offer(window, "fixed", "true")
        deeds = marking(window)["deeds"]
        # Killed, and taken up again.
        window.process.kill()
        window.process.wait()
    with Window(PROGRAM, display, bare, "--mark") as window:
        window.until(lambda r: r["state"]["marking"] is not None, "the room")
        window.until_still()
        expect(marking(window)["recovered"] and marking(window)["deeds"] == deeds, f"taken up again: {marking(window)}")
        # A mistake is told while it is typed.
        window.press("mark.tab.nodes")
        type_into(window, "mark.find", "pulley_bolt_1")
        window.press("mark.node.pulley_bolt_1")
        window.until(lambda r: r["state"]["marking"]["picked"] == ["pulley_bolt_1"], "it is picked")
        type_into(window, "mark.key.torque", "22 Nmm")
        window.until(lambda r: r["state"]["marking"]["typed"] > 0, "the mistake is told")
        window.until_still()
        window.shot(FOLDER / "mark_3.png")
        type_into(window, "mark.key.torque", "10 N.m")
        window.until(lambda r: r["state"]["marking"]["typed"] == 0, "there is none any more")
        window.key("Return")
        window.until(lambda r: r["state"]["marking"]["deeds"] == deeds + 1, "it is said")
        window.until_still()
        offer(window, "thread", "M6")
        # All of a name at once: from where one gets at them.
        type_into(window, "mark.find", "_bolt")
        window.press("mark.all")
        window.until(lambda r: len(r["state"]["marking"]["picked"]) >= 10, "all bolts are picked")
        window.until_still()
        offer(window, "from", "front")
        window.shot(FOLDER / "mark_4.png")
        # The gasket comes off after the pump, and is what the job is about.
        type_into(window, "mark.find", "pump_gasket")
        window.press("mark.node.pump_gasket")
        window.until(lambda r: r["state"]["marking"]["picked"] == ["pump_gasket"], "it is picked")
        offer(window, "after", "water_pump")
        # Of the whole job: what must come out.
        window.key("Escape", "Escape")
        window.until(lambda r: not r["state"]["marking"]["picked"], "nothing is picked")
        window.until_still()
        offer(window, "target", "pump_gasket")
        window.press("mark.save")
        window.until(lambda r: not r["state"]["marking"]["unsaved"], "saved")
        window.shot(FOLDER / "mark_5.png")
        window.press("mark.leave")
        window.until(lambda r: r["state"]["marking"] is None, "back in the walk")
    expect(not pathlib.Path(f"{bare}.marking").exists(), "nothing is kept beside a saved file")
    done = subprocess.run([PROGRAM, "check", str(made), "--json"], capture_output=True, text=True, check=False)
    found = json.loads(done.stdout)
    faults = [f for f in found["findings"] if f["weight"] == "fault"]
    expect(done.returncode == 0 and not faults, f"it checks clean: {faults}")
    document = json_of(made)
    bolts = [n for n in document["nodes"] if "fastener" in n.get("extras", {})]
    expect(len(bolts) == 12, f"12 fasteners are marked: {len(bolts)}")
    bolt = next(n for n in bolts if n["name"] == "pulley_bolt_1")["extras"]
    expect(bolt["torque"] == "10 N.m" and bolt["thread"] == "M6" and bolt["from"] == "front", f"as it was said: {bolt}")


def json_of(path):
    data = path.read_bytes()
    return json.loads(data[20 : 20 + struct.unpack("<I", data[12:16])[0]])


def opening_can_be_stopped(display):
    large = large_model("large.glb", 900)
    with Window(PROGRAM, display, large) as window:
        window.until(lambda r: r["state"]["opening"] is not None and any(c["id"] == "opening.stop" for c in r["controls"]),
                     "the bar while it opens")
        window.shot(FOLDER / "opening.png")
        window.press("opening.stop")
        window.until_state(opening=None, open=False, error="")
        window.until(lambda r: any(c["id"] == "path.field" for c in r["controls"]), "the window can open another")


def tells_the_step_at_five_inches():
    """What to do, on how many of which size and with which tool: on the card as it comes up, upright and on its side."""
    settings = FOLDER / "settings"
    kept = settings / "boltwalk" / "screens.json"
    for width, height in ((400, 800), (800, 480)):
        px_per_mm = math.hypot(width, height) / (5 * 25.4)
        with Display(width, height) as display:
            without_logs()
            shutil.rmtree(settings, ignore_errors=True)
            with Window(PROGRAM, display, MAP, "--reach", "hand", settings=settings) as window:
                read_start_card_by_key(window)
                window.key("d")  # something to be remembered, for the screen's name there
                window.until_state(light="night")
                window.until_still()
            screen, = json.loads(kept.read_text())
            kept.write_text(json.dumps({screen: {**json.loads(kept.read_text())[screen], "px_per_mm": px_per_mm}}))
            with Window(PROGRAM, display, MAP, "--reach", "hand", "--day", settings=settings) as window:
                read_start_card_by_key(window)
                expect(abs(window.until_still()["window"]["px_per_mm"] - px_per_mm) < 1e-6, window.report()["window"])
                below = []
                for way in ("strip", "refit"):
                    for _ in range(window.state()["steps"]):
                        report = window.until_still()
                        state = report["state"]
                        if not state["told_in_sight"]:
                            below.append(f"{way} {state['at'] + 1}: {state['headline']}")
                        window.shot(FOLDER / f"five_inches_{width}_{way}_{state['at'] + 1}.png")
                        window.key("period")
                    window.key("r")
                    window.key("Home")
                expect(not below, f"{width}x{height}, 5 inches: size or tool below the fold: " + "; ".join(below))


def fits_in_the_hand(faults):
    """A telephone's browser, upright and on its side, every third step down and back; and every panel."""
    for width, height in ((360, 640), (640, 360)):
        with Display(width, height) as display:
            without_logs()
            with Window(PROGRAM, display, MAP, "--reach", "hand") as window:
                def look(what):
                    report = window.until_still()
                    faults.extend(f"{width}x{height}, {what}: {f}" for f in layout_faults(report, 9))
                    return report

                window.until_state(open=True)
                look("start card")
                window.shot(FOLDER / f"held_{width}_start.png")
                read_start_card_by_key(window)
                for way in ("strip", "refit"):
                    steps = look(way)["state"]["steps"]
                    for at in range(steps):
                        if at % 3 == 0 or at == steps // 2:
                            report = look(f"{way} {at + 1}")
                        if at == steps // 2:
                            window.shot(FOLDER / f"held_{width}_{way}.png")
                            window.press("show")
                            look(f"drawing of {way} {at + 1}")
                            window.shot(FOLDER / f"held_{width}_{way}_drawing.png")
                            window.press("show")
                            for key in ("F2", "F5", "F4", "F3", "F6", "F1"):
                                window.key(key)
                                look(key)
                                window.shot(FOLDER / f"held_{width}_{key}.png")
                                window.key("Escape")
                        window.key("period")
                    window.key("r")
                    window.key("Home")


def page_for_test():
    """A folder as viewer/web/build writes one, as far as what is handed over cares: the real one need not be built."""
    folder = FOLDER / "page"
    folder.mkdir(exist_ok=True)
    (folder / "index.html").write_text("<!doctype html><title>page</title>\n<!-- place of what is carried -->\n")
    for name in ("boltwalk.wasm", "manifest.webmanifest", "icon.svg", "offline.js"):
        (folder / name).write_text(name)
    return folder


def free_port():
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return asked.getsockname()[1]


def hands_the_page_over():
    """Off until it is asked for; to this machine or to the network, as pressed; the code on the screen is the address."""
    page = page_for_test()

    def answer(address):
        try:
            with urllib.request.urlopen(address, timeout=10) as got:
                return got.read().decode()
        except (urllib.error.URLError, ConnectionError):
            return None

    def look(window, name):
        report = window.until_still()
        shot = FOLDER / f"hand_over_{name}.png"
        window.shot(shot)
        faults = layout_faults(report, glove=False)
        expect(not faults, f"{name}: " + "\n".join(faults))
        read = subprocess.run(["zbarimg", "-q", "--raw", str(shot)], capture_output=True, text=True)
        return report["state"]["handed_over"], read.stdout.strip()

    def to_panel(window):
        read_start_card(window)
        window.key("F6")
        window.until_state(panel="Display")
        for _ in range(20):
            window.until_still()
            if window.control("file.hand_over") is not None and not window.control("file.hand_over")["cut"]:
                break
            window.press("display.more")
        window.press("file.hand_over")
        window.until_state(panel="Hand over")
        window.until_still()

    for width, height in SIZES:
        with Display(width, height) as display:
            for light in ("day", "night"):
                name, port = f"{width}_{light}", free_port()
                arguments = ["--night"] if light == "night" else []
                with Window(PROGRAM, display, MAP, "--built", page, "--port", port, *arguments) as window:
                    to_panel(window)
                    addresses, _ = look(window, name + "_off")
                    expect(addresses == [] and answer(f"http://127.0.0.1:{port}/") is None, "nothing is served before it is asked for")
                    window.press("hand_over.here")
                    window.until(lambda r: r["state"]["handed_over"], "the address")
                    addresses, read = look(window, name + "_here")
                    expect(addresses[0].startswith(f"http://127.0.0.1:{port}/"), f"this machine only: {addresses}")
                    expect(read == addresses[0], f"the code on the screen says '{read}', the address is {addresses[0]}")
                    expect("carried-map" in (answer(read) or ""), "the page with the map is there")
                    window.press("hand_over.stop")
                    window.until(lambda r: not r["state"]["handed_over"], "the end of it")
                    expect(answer(read) is None, "nothing is served after it")
                    window.until_still()
                    window.press("hand_over.network")
                    window.until(lambda r: r["state"]["handed_over"] or r["state"]["hand_over_error"], "an answer")
                    addresses, read = look(window, name + "_network")
                    if window.state()["hand_over_error"]:
                        expect("in no network" in window.state()["hand_over_error"], window.state()["hand_over_error"])
                        print(f"{name}: this machine is in no network; the code for one was not tried")
                        continue
                    expect("127.0.0.1" not in addresses[0], f"to the network: {addresses}")
                    expect(read == addresses[0] and "carried-map" in (answer(read) or ""), f"'{read}' for {addresses[0]}")
                    window.close()
                    expect(answer(read) is None, "it ends with the window")
    with Display(*SIZES[0]) as display, Window(PROGRAM, display, MAP, "--built", FOLDER / "nothing") as window:
        to_panel(window)
        window.press("hand_over.here")
        window.until(lambda r: "viewer/web/build" in r["state"]["hand_over_error"], "what is missing and what builds it")
        look(window, "not_built")


def log_steps(*lines):
    subprocess.run([PROGRAM, "log", str(MAP), "--from", "-"], input="\n".join(lines) + "\n", text=True, check=True,
                   capture_output=True)


def keeps_the_kinds_of_the_step_in_sight():
    """The row's kinds at every size, and which of the person's wrenches to take, where the person said which there are."""
    wrenches = FOLDER / "wrenches.txt"
    wrenches.write_text("torque wrench 5..25 N·m\ntorque wrench 20..110 N·m\n")
    for width, height, reach, shown in ((1280, 800, "desk", 3), (2000, 1200, "desk", 3), (800, 1280, "desk", 1),
                                        (360, 640, "hand", 0), (1280, 800, "helper", 0)):
        without_logs()
        log_steps(*(f"did out {n}" for n in range(1, 14)))
        for way in ("strip", "refit"):
            if way == "refit":
                log_steps("did out 14", "did out 15", *(f"did back {n}" for n in range(1, 5)))
            with Display(width, height) as display, Window(PROGRAM, display, MAP, "--reach", reach, "--wrenches", wrenches) as window:
                read_start_card_by_key(window)
                if way == "strip":
                    window.key("Page_Up")
                window.until_state(way=way, at=12 if way == "strip" else 4)
                for light in ("daylight", "night"):
                    report = window.until_still()
                    window.shot(FOLDER / f"kinds_{width}_{height}_{reach}_{way}_{light}.png")
                    what = f"{width}x{height}, {reach}, {way}, {light}"
                    faults = layout_faults(report, glove=False)
                    expect(not faults, what + ": " + "\n".join(faults))
                    row = [c["label"] for c in report["controls"] if c["id"].startswith("ledger")]
                    kinds = [label for label in row if label.startswith("M8 × ")]
                    expect(len(kinds) >= shown, f"{what}: at least {shown} kinds are in sight: {row}")
                    of_it = "2 in tray" if way == "strip" else "2 refitted"
                    expect(shown == 0 or "M8 × 60" in kinds[0] and of_it in kinds[0], f"{what}: the first is the step's first: {row}")
                    window.key("d")
                    window.until(lambda r: r["state"]["light"] != light, "the other light")
                expect(window.state()["wrench"] == (None if way == "strip" else "torque wrench 5..25 N·m, set to 22 N·m"),
                       f"{what}: {window.state()['wrench']}")
                if shown == 3:
                    window.press("ledger.2")
                    report = window.until_state(panel="Tray")
                    expect(way == "refit" or report["state"]["picked"] == "pump_bolt_long_1", "a kind leads to its own in the tray")


def lists_what_is_done_where_it_is_taken_up():
    """The list of steps goes to its end, and stands there with its rows: nothing is drawn after that."""
    without_logs()
    log_steps(*(f"did out {n}" for n in range(1, 16)))
    with Display(1280, 800) as display, Window(PROGRAM, display, MAP, "--reach", "hand") as window:
        read_start_card_by_key(window)
        window.until_state(way="strip", at=15)
        rows = [c["id"] for c in window.until_still()["controls"] if c["id"].startswith("step.")]
        expect("step.15" in rows, f"the last step stands in the list: {rows}")


def every_layout_fits():
    faults = []
    fits_in_the_hand(faults)
    for width, height in SIZES:
        with Display(width, height) as display:
            for reach in ("desk", "hand", "bench", "helper"):
                without_logs()
                with Window(PROGRAM, display, MAP, "--reach", reach) as window:
                    def look(what):
                        report = window.until_still()
                        faults.extend(f"{width}x{height}, {reach}, {what}: {f}" for f in layout_faults(report, reach != "desk"))
                        return report

                    window.until_state(open=True)
                    report = look("start card")
                    window.shot(FOLDER / f"fits_{width}_{reach}_start.png")
                    wanted = {"desk": 3.2, "hand": 3.2, "bench": 6.4, "helper": 19.2}[reach]
                    expect(report["window"]["capital_mm"] >= wanted,
                           f"{width}x{height}, {reach}: capitals are {report['window']['capital_mm']:.2f} mm, asked for {wanted}")
                    read_start_card_by_key(window)
                    window.key("Right", "Right", "Right")
                    look("step")
                    window.shot(FOLDER / f"fits_{width}_{reach}.png")
                    for key in ("F2", "F5", "F4", "F3", "F6", "F1"):
                        window.key(key)
                        window.until(lambda r: True, "a report")
                        look(key)
                        window.shot(FOLDER / f"fits_{width}_{reach}_{key}.png")
                        window.key("Escape")
                    window.key("End")  # backwards no caution keeps anybody
                    while window.state()["picked"] is None:
                        window.key("Left", "n")
                        window.until_still()
                    look("about an item, why this order")
                    window.key("Escape", "r", "Right", "Right", "Right")
                    look("refit")
                    window.shot(FOLDER / f"fits_{width}_{reach}_refit.png")
                if (width, reach) not in ((1280, "desk"), (1280, "helper"), (2000, "hand")):
                    continue
                with Window(PROGRAM, display, BIG, "--reach", reach) as window:
                    what = "stopped" if stop_and_go_on(window) else "whole"
                    look("start card of the big map, estimates " + what)
                    window.shot(FOLDER / f"fits_{width}_{reach}_{what}.png")
                    if what == "stopped":
                        window.press("study.stop")
                    all_estimates(window)
                    window.press("tour")
                    window.until_state(tour=0)
                    look("out of sight")
                    window.shot(FOLDER / f"fits_{width}_{reach}_tour.png")
    expect(not faults, "\n".join(faults))


def main():
    FOLDER.mkdir(parents=True, exist_ok=True)
    tests = [opens_by_path_and_says_what_is_wrong, another_file_over_an_open_one, start_card_comes_first, walks_down_and_back_by_the_button,
             keeps_the_log_through_damage_kill_and_closing, goes_on_in_memory_with_a_standing_warning,
             goes_on_when_the_disk_is_full, goes_on_when_it_may_not_write, one_press_is_one_step,
             cautions_are_read_before_the_next_step, goes_by_keys_alone, picks_in_the_drawing_and_follows_what_holds, findings_lead_to_their_place, rounds_through_what_is_out_of_sight,
             turns_by_pointer_and_sleeps, night_is_dark, sizes_follow_the_ruler, remembers_the_screen_from_start_to_start, reads_each_step_aloud_once_switched_on, turns_the_picture_as_one_lies, looks_at_what_is_not_annotated,
             marks_up_a_stripped_map, opening_can_be_stopped]
    only = [name for name in sys.argv[4:] if not name.startswith("-")]
    without = [name[1:] for name in sys.argv[4:] if name.startswith("-")]
    failed = 0
    with Display(*SIZES[0]) as display:
        displays_of_their_own = [hands_the_page_over, tells_the_step_at_five_inches, keeps_the_kinds_of_the_step_in_sight, lists_what_is_done_where_it_is_taken_up,
                                 every_layout_fits]
        for test in tests + displays_of_their_own:
            if test.__name__ in without or only and test.__name__ not in only:
                continue
            begun = time.monotonic()
            without_logs()
            try:
                test() if test in displays_of_their_own else test(display)
                print(f"passed  {test.__name__}  ({time.monotonic() - begun:.1f} s)", flush=True)
            except Failed as failure:
                failed += 1
                print(f"FAILED  {test.__name__}\n        " + str(failure).replace("\n", "\n        "), flush=True)
    print(f"screenshots: {FOLDER}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":  # marks.py takes its steps from here
    main()
