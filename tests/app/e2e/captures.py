# SPDX-License-Identifier: MIT
"""Real captures: each is learned, compared with itself, and replayed against its own baseline without a false alarm."""
import json
import pathlib
import re
import sys
import tempfile

from program import CAPTURES, Program, run_program, same, skip, true, run

# These have a real hole: the whole bus was silent for a while, and that is said.
WITH_HOLE = {"car-with-hole", "machine-29bit"}


def captures():
    return sorted(CAPTURES.glob("*.pcap"))


def learned(capture, folder):
    path = pathlib.Path(folder) / (capture.stem + ".baseline")
    done = run_program("baseline", capture, "-o", path)
    same(0, done.returncode, f"learning {capture.name}: {done.stderr}")
    return path


def check_each_is_the_same_as_itself():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        for capture in captures():
            done = run_program("compare", learned(capture, folder), capture)
            same(0, done.returncode, f"{capture.name} compared with itself: {done.stdout}{done.stderr}")
            true(done.stdout.startswith("No difference in "), done.stdout)


def check_each_replays_without_a_false_alarm():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        for capture in captures():
            done = run_program("watch", "--json", "--baseline", learned(capture, folder), capture)
            report = json.loads(done.stdout)
            allowed = {"bus silent"} if capture.stem in WITH_HOLE else set()
            lit = {alarm["name"] for alarm in report["alarms"]}
            true(lit <= allowed, f"{capture.name} lights {lit - allowed}: {report['words']}")
            same(0, done.returncode, f"{capture.name}: {done.stderr}")
            same(0, report["counts"]["unexpected"] + report["counts"]["absent"] + report["counts"]["changed"], capture.name)


def check_each_replays_on_the_dashboard_without_a_false_alarm():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        for capture in captures():
            with Program("watch", "--mute", "--pace", "full", "--baseline", learned(capture, folder), capture) as screen:
                screen.see(r"^ .*: the end\.")
                lit = [m.group(1).strip() for line in screen.lines()[:6] for m in re.finditer(r"[!?*-]([A-Z][A-Z ]{3,6})(?=\s|$)", line)]
                same(["SILENT"] if capture.stem in WITH_HOLE else [], lit, f"windows lit by {capture.name}")
                screen.see(r"\d+ of \d+ expected messages present")


def check_recording_of_a_capture_says_the_same():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        for capture in captures():
            path = pathlib.Path(folder) / ("again-" + capture.name)
            first = json.loads(run_program("watch", "--json", capture, "--record", path).stdout)
            again = json.loads(run_program("watch", "--json", path).stdout)
            same({m["id"]: m["frames"] for m in first["messages"]}, {m["id"]: m["frames"] for m in again["messages"]},
                 f"frames of {capture.name} recorded again")


if __name__ == "__main__":
    if not captures():
        skip(f"no captures in {CAPTURES}: set LW_CAPTURES to a folder that has some")
    run(sys.modules[__name__])
