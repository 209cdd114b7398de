# SPDX-License-Identifier: MIT
"""Real captures: each is learned, compared with itself, and replayed against its own baseline without a false alarm;
and explained: what their README says of them is what loomwatch tells."""
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


def explained(name, wanted_status):
    """The story of a capture as a list of objects; None where this folder has no such capture."""
    path = CAPTURES / f"{name}.pcap"
    if not path.exists():
        print(f"        (no {name}.pcap: not checked)")
        return None
    done = run_program("explain", "--json", path)
    same(wanted_status, done.returncode, f"explain {name}: {done.stderr}")
    told = json.loads(done.stdout)
    true(told[0]["kind"] == "start" and told[-1]["kind"] == "end" and len(told) <= 40, f"{name}: {told}")
    return told


def one(told, kind):
    lines = [line for line in told if line["kind"] == kind]
    same(1, len(lines), f"lines of kind {kind} in {told}")
    return lines[0]


def check_explain_a_group_that_goes_together():
    """README: 35 of 101 IDs stop at 8.7 s. Here some that stop up to 0.4 s after them count as going with them."""
    told = explained("car-power-cycle", 1)
    if told:
        line = one(told, "quiet")
        true(abs(line["at-s"] - 8.7) < 0.1, line)
        count = int(re.match(r"(\d+) messages went quiet together", line["words"]).group(1))
        true(abs(count - 35) <= 5, line)
        true("101 messages" in told[0]["words"] and "1 unit told apart" in told[0]["words"], told[0])


def check_explain_a_hole_makes_nothing_new_and_nothing_absent():
    told = explained("car-with-hole", 1)
    if told:
        line = one(told, "back")
        true(re.match(r"the bus is back after 79\.\d s of silence: 6\d messages", line["words"]), line)
        true(abs(line["at-s"] - 79.2) < 0.2, line)
        same(set(), {line["kind"] for line in told} & {"joined", "new", "unexpected", "absent", "quiet", "returned"}, "kinds told")


def check_explain_units_by_address_and_a_hole():
    told = explained("machine-29bit", 1)
    if told:
        silent, back = one(told, "silent"), one(told, "back")
        true(abs(silent["at-s"] - 33.7) < 0.2 and abs(back["at-s"] - 39.5) < 0.2, (silent, back))
        true("84 messages" in told[0]["words"] and "9 units told apart" in told[0]["words"], told[0])
        true("unit at address 65 (41)" in one(told, "joined")["words"], told)


def check_explain_a_steady_bus_has_nothing_to_tell():
    for name in ("boat-running", "one-module-on-the-bench"):
        told = explained(name, 0)
        if told:
            same(["start", "end"], [line["kind"] for line in told], f"{name}: {told}")


if __name__ == "__main__":
    if not captures():
        skip(f"no captures in {CAPTURES}: set LW_CAPTURES to a folder that has some")
    run(sys.modules[__name__])
