#!/usr/bin/python3
"""How soon the window's first picture is there, against a bare GLFW window's: both from the start of the process to the
end of the first swap, taken in turns on one screen, as a ratio of medians.

usage: first_picture.py PROGRAM BARE_WINDOW MAP [ROUNDS]    exit code 1 when the ratio is above 1.2
"""

import pathlib
import statistics
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "screen"))
from screen import Display, Window

MOST = 1.2


def bare_s(program, display):
    start = time.monotonic()
    told = subprocess.run([program, "--bare"], env=display.environment(), capture_output=True, text=True, check=True).stdout
    return float(told) - start


def ours_s(program, display, model):
    with Window(program, display, model) as window:
        report = window.until(lambda r: r["first_swap_s"] > 0, "the first swap")
        return report["first_swap_s"] - window.started_s


def main():
    program, bare, model = sys.argv[1:4]
    rounds = int(sys.argv[4]) if len(sys.argv) > 4 else 9
    ours, theirs = [], []
    with Display(1280, 800) as display:
        bare_s(bare, display)  # both warm: the first of all pays for reading the libraries from disk
        ours_s(program, display, model)
        for _ in range(rounds):
            theirs.append(bare_s(bare, display))
            ours.append(ours_s(program, display, model))
    ratio = statistics.median(ours) / statistics.median(theirs)
    print(f"first picture: ours {1000 * statistics.median(ours):.0f} ms, bare window {1000 * statistics.median(theirs):.0f} ms, "
          f"ratio {ratio:.2f} (at most {MOST}), medians of {rounds} in turns")
    sys.exit(0 if ratio <= MOST else 1)


main()
