#!/usr/bin/python3
"""The whole big job in the window: out and back, with two damages, one thing that the map does not foresee, one kill in the
middle and one swap of lengths; then what the record says of it.

usage: whole_job.py PROGRAM MAP FOLDER    (screenshots, the log and the record go to FOLDER)
"""

import json
import pathlib
import shutil
import signal
import subprocess
import sys
import time

from screen import Display, Failed, Window, expect, layout_faults, log_of, read_start_card_by_key

PROGRAM, SHIPPED, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
MAP = FOLDER / "map" / SHIPPED.name  # a copy: the window keeps its log beside the map
SIZE = (1280, 800)
LONG, SHORT = "adapter_upper_bolt_1", "adapter_bolt_1"  # M10x1.25, 60 and 40 mm long, of the same head


def now_of(path):
    return json.loads(log_of(PROGRAM, path, "--now", "--json"))


def balances(path):
    now = now_of(path)
    for kind in now["ledger"]:
        expect(kind["came_out"] == kind["in_tray"] + kind["refitted"] + kind["elsewhere"] + kind["scrapped"] + kind["missing"]
               and kind["places"] == kind["refitted"] + kind["strangers"] + kind["fresh"] + kind["empty"],
               f"the ledger balances: {kind}")
    return now


def look(window, name):
    report = window.until_still()
    window.shot(FOLDER / name)
    faults = layout_faults(report, glove=False)
    expect(not faults, f"{name}: " + "\n".join(faults))
    return report


def go_on(window):
    """The main action once, by key; until it is answered."""
    state = window.state()
    window.main_key()
    window.until(lambda r: r["state"]["entries"] != state["entries"] or r["state"]["at"] != state["at"]
                 or r["state"]["way"] != state["way"], "the main action does something")


def walk_until(window, holds):
    """Step by step, to the first that `holds(report)`; or to the end of the way."""
    for _ in range(800):
        report = window.report()
        if report["state"]["at"] >= report["state"]["steps"] or holds(report):
            return report
        label = [c["label"] for c in report["controls"] if c["id"] == "next"]
        if label == ["Read on"]:  # the caution lies below what is seen
            report = window.until_still()  # else a frame that was on its way would be taken for the key's
            if window.control("next")["label"] == "Read on":
                window.main_key()
                window.until_still()
        else:
            go_on(window)
    raise Failed("the way never ends")


def has_tick(name):
    return lambda report: any(c["id"] == "tick." + name for c in report["controls"])


def ask_about(window, name):
    """The item's sheet, by the mark on the card."""
    report = window.until_still()
    control = window.control("tick." + name)
    window.shot(FOLDER / "asked.png")
    expect(control, f"a mark for {name}: {[c['id'] for c in report['controls']]}, {report['state']}")
    box = control["box"]
    window.click_at(box[0] + box[2] / 2, box[1] + box[3] / 2, button=3)
    window.until_state(picked=name, panel="About")


def find_in_sheet(window, name):
    """A control of the sheet, turned to where it is seen whole: up to its head, then down."""
    turn = "about.earlier"
    for _ in range(30):
        report = window.until_still()
        found = [c for c in report["controls"] if c["id"].startswith(name) and not c["cut"]]
        if found:
            return found[0]
        if turn == "about.earlier" and not window.control(turn)["enabled"]:
            turn = "about.more"
        window.press(turn)
        window.until(lambda r: r["frames"] > report["frames"] + 2, "frames that show the sheet turned")
    raise Failed(f"the sheet has no '{name}'")


def press_in_sheet(window, name):
    window.press(find_in_sheet(window, name)["id"])


def enter_by(window, press):
    """Something that is stored, by whatever press."""
    entries = window.state()["entries"]
    press()
    return window.until(lambda r: r["state"]["entries"] > entries and r["state"]["stored"], "it is stored")


def damage(window, name, what, words):
    ask_about(window, name)
    press_in_sheet(window, "happened.field")
    window.until_state(typing=True)
    window.type(words)
    enter_by(window, lambda: press_in_sheet(window, "happened." + what))


def down_until_killed(display):
    with Window(PROGRAM, display, MAP) as window:
        read_start_card_by_key(window)
        walk_until(window, lambda r: has_tick("skid_bolt_3")(r) and r["state"]["headline"].startswith("Take out"))
        damage(window, "skid_bolt_3", "sheared", "the head came off")
        look(window, "sheared.png")
        walk_until(window, lambda r: has_tick("heat_shield_bolt_2")(r) and r["state"]["headline"].startswith("Take out"))
        damage(window, "heat_shield_bolt_2", "rounded", "came with a smaller socket hammered on")
        window.key("i")
        window.until_state(panel="In the way", typing=True)
        window.type("a cable tie round the harness")
        enter_by(window, lambda: window.key("Return"))
        window.key("Escape")
        look(window, "in_the_way.png")
        at = window.state()["at"]
        walk_until(window, lambda r: r["state"]["at"] >= at + 6)
        report = window.report()
        expect(report["state"]["stored"], "the last one was acknowledged")
        window.process.send_signal(signal.SIGKILL)
        window.process.wait()
        return report["state"]


def back_to_the_end(window):
    window.key("space")
    window.until_state(way="refit", at=0)
    # A short bolt where a long one belongs, while the short ones lie in the tray.
    walk_until(window, lambda r: has_tick(LONG)(r) and r["state"]["headline"].startswith("Start"))
    ask_about(window, LONG)
    label = find_in_sheet(window, "went_in." + SHORT)["label"]
    expect("Looks alike" in label and "20 mm shorter" in label, "what is wrong with it is said before it is pressed: " + label)
    look(window, "look_alikes.png")
    enter_by(window, lambda: window.press("went_in." + SHORT))
    look(window, "swapped.png")
    expect(sum(kind["strangers"] for kind in balances(MAP)["ledger"]) == 1, "a stranger is in a place")
    enter_by(window, lambda: press_in_sheet(window, "piece.out"))
    expect(sum(kind["strangers"] for kind in balances(MAP)["ledger"]) == 0, "and is out again")
    # A castle nut ends at a slot, and at what torque is asked for.
    walk_until(window, lambda r: any(c["id"] == "slot.field" for c in r["controls"]))
    window.until_still()
    window.press("slot.field")
    window.until_state(typing=True)
    look(window, "slot.png")
    window.type("74 Nm")
    window.until(lambda r: any(c["id"] == "slot.enter" and c["enabled"] for c in r["controls"]), "a torque with its unit")
    enter_by(window, lambda: window.press("slot.enter"))
    # The hole of the sheared one before a new one goes in.
    walk_until(window, lambda r: has_tick("skid_bolt_3")(r) and r["state"]["headline"].startswith("Start"))
    ask_about(window, "skid_bolt_3")
    enter_by(window, lambda: press_in_sheet(window, "repaired.insert"))
    walk_until(window, lambda r: False)
    window.until_state(headline=None)


def what_is_open(window):
    """One after the other from the closing screen: each row leads to where it can be settled."""
    for _ in range(60):
        report = window.until_still()
        rows = [c for c in report["controls"] if c["id"] == "open.1"]
        if not rows:
            return
        label = window.control("next")["label"]
        expect(label.startswith("Close over") and not window.control("next")["enabled"], "open things hold the closing: " + label)
        window.press("open.1")
        window.until(lambda r: r["state"]["panel"] in ("About", "In the way"), "where it is settled")
        window.until_still()
        if window.state()["panel"] == "In the way":
            back = [c["id"] for c in window.report()["controls"] if c["id"].startswith("in_way.back.")]
            enter_by(window, lambda: window.press(back[0]))
        else:
            enter_by(window, lambda: press_in_sheet(window, "settled."))
    raise Failed(f"more and more is open: {rows}")


def says_all_of_it():
    now = balances(MAP)
    expect(now["closed"] and not now["open"] and not now["closed_why"], f"closed over nothing: {now['open']}")
    for kind in now["ledger"]:
        expect((kind["in_tray"], kind["empty"], kind["missing"], kind["strangers"]) == (0, 0, 0, 0), f"accounted for: {kind}")
    text = log_of(PROGRAM, MAP)
    record = FOLDER / "record.pdf"
    done = subprocess.run([PROGRAM, "sheet", MAP, "--done", "-o", record], capture_output=True, text=True, check=False)
    expect(done.returncode == 0, "the record is printed: " + done.stderr)
    read = subprocess.run(["pdftotext", "-layout", record, "-"], capture_output=True, check=True, text=True)
    paper = "".join(read.stdout.split())
    for words in ("found sheared skid_bolt_3", "the head came off", "found rounded heat_shield_bolt_2",
                  "a smaller socket hammered on", "a cable tie round the harness", "found insert skid_bolt_3",
                  f"{LONG}: the manual wants bolt M10x1.25 × 60"):
        expect(words in text, f"the log says '{words}'")
        expect("".join(words.split()) in paper.replace("M10×1.25", "M10x1.25"), f"the record says '{words}'")
    expect("at 74 N·m" in text and "74N·m" in paper, "at what torque the castle nut stands in its slot")
    for words in ("Closed, with nothing open.", "a cable tie round the harness: back", "skid_bolt_3: a new bolt M8 × 25"):
        expect("".join(words.split()) in paper, f"the record says '{words}'")
    expect("hex_flange" not in text + paper and "drain_plug M" not in text + paper, "kinds of hardware stand there in people's words")


def main():
    shutil.rmtree(MAP.parent, ignore_errors=True)
    MAP.parent.mkdir(parents=True)
    shutil.copy(SHIPPED, MAP)
    begun = time.monotonic()

    def told(what):
        print(f"{time.monotonic() - begun:6.1f} s  {what}", flush=True)

    try:
        with Display(*SIZE) as display:
            killed = down_until_killed(display)
            told(f"down to step {killed['at'] + 1}, {killed['entries']} entries, killed")
            kept = json.loads(log_of(PROGRAM, MAP, "--json"))["entries"]
            expect(len(kept) == killed["entries"], f"all that was acknowledged is on disk: {len(kept)} of {killed['entries']}")
            with Window(PROGRAM, display, MAP) as window:
                window.until_state(open=True, resumed=True, entries=killed["entries"])
                look(window, "taken_up_again.png")
                read_start_card_by_key(window)
                window.until_state(at=killed["at"], way="strip")
                walk_until(window, lambda r: False)
                told("down to the end")
                expect(not [d for d in balances(MAP)["deviations"]], "nothing so far was against the order")
                back_to_the_end(window)
                told("back to the end")
                look(window, "closing.png")
                what_is_open(window)
                look(window, "nothing_open.png")
                window.press("next")
                window.until_state(closed=True, stored=True)
                look(window, "closed.png")
                told(f"closed, {window.state()['entries']} entries")
        says_all_of_it()
    except Failed as failure:
        print(f"FAILED  {failure}\nscreenshots: {FOLDER}")
        sys.exit(1)
    told("passed")
    print(f"screenshots: {FOLDER}")


main()
