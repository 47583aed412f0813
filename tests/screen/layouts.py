#!/usr/bin/python3
"""Every screen at a set of sizes: nothing overlaps, is cut off or too small, and what a step needs is in sight.

usage: layouts.py PROGRAM MAP FOLDER [[-]SCENARIO...]    (screenshots and maps go to FOLDER)
"""

import json
import math
import shutil

from screen import Display, Window, expect, layout_faults, read_start_card_by_key
from steps import BIG, FOLDER, MAP, PROGRAM, SIZES, all_estimates, log_steps, run, stop_and_go_on, without_logs


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
                window.until(lambda r: r["state"]["light"] == "night" and kept.exists(), "the light is remembered")
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


if __name__ == "__main__":
    on_their_own = [tells_the_step_at_five_inches, keeps_the_kinds_of_the_step_in_sight,
                    lists_what_is_done_where_it_is_taken_up, every_layout_fits]
    run([], on_their_own)
