#!/usr/bin/python3
"""What the window keeps: the log beside the map, through damage, a kill, a full disk; and how the screen was set.

usage: keeping.py PROGRAM MAP FOLDER [[-]SCENARIO...]    (screenshots and maps go to FOLDER)
"""

import json
import os
import pathlib
import resource
import shutil
import signal

from screen import Window, expect, layout_faults, log_of, read_start_card_by_key
from steps import FOLDER, MAP, PROGRAM, into_sight, press_until_on, read_start_card, run


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


if __name__ == "__main__":
    on_one_display = [keeps_the_log_through_damage_kill_and_closing, goes_on_in_memory_with_a_standing_warning,
                      goes_on_when_the_disk_is_full, goes_on_when_it_may_not_write,
                      remembers_the_screen_from_start_to_start]
    run(on_one_display)
