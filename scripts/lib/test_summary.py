#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Sums the tests of meson's logs: cmocka's closing lines, what was skipped and why, and one last line of totals.

usage: test_summary.py [--none-skipped] [--passed NAME] [--failed NAME] TESTLOG.json...

Counts tests as meson does; test functions that cmocka skipped inside of one are skipped ones too. Ends with 1 if one
failed, if a log is missing or empty, or with --none-skipped if one was skipped.
"""
import argparse
import json
import pathlib
import re
import sys

PASSED, SKIPPED = {"OK", "EXPECTEDFAIL"}, {"SKIP"}
CLOSING = re.compile(r"^\[  (?:PASSED|FAILED|SKIPPED) *\] (\d+) test\(s\).*$", re.MULTILINE)
# What cmocka says of a test function that skipped itself, after what that function said last.
SKIPPED_INSIDE = re.compile(r"(?:^(?!\[)(.+)\n)?^\[  SKIPPED \] (?!\d+ test\(s\))(.+)$", re.MULTILINE)


def read(path):
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8", errors="replace").splitlines() if line]


def reason(test):
    """The last line a skipped test wrote."""
    lines = [line for line in (test.get("stdout", "") + "\n" + test.get("stderr", "")).splitlines() if line.strip()]
    return lines[-1] if lines else "no reason given"


class Totals:
    def __init__(self):
        self.passed, self.failed, self.skipped = 0, [], []

    def take(self, test):
        output = test.get("stdout", "") + "\n" + test.get("stderr", "")
        for closing in CLOSING.finditer(output):
            print(f"  {test['name']}: {closing.group(0)}")
        if test["result"] in PASSED:
            self.passed += 1
        elif test["result"] in SKIPPED:
            self.skipped.append((test["name"], reason(test)))
        else:
            self.failed.append(f"{test['name']} ({test['result'].lower()})")
        inside = {}
        for why, name in SKIPPED_INSIDE.findall(output):
            inside.setdefault(name, why or "no reason given")
        self.skipped += [(f"{test['name']}: {name}", why) for name, why in inside.items()]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--none-skipped", action="store_true", help="a skipped test is a failure")
    parser.add_argument("--passed", action="append", default=[], metavar="NAME", help="one more that passed")
    parser.add_argument("--failed", action="append", default=[], metavar="NAME", help="one more that failed")
    parser.add_argument("logs", nargs="+", type=pathlib.Path)
    options = parser.parse_args()
    totals = Totals()
    for log in options.logs:
        tests = read(log)
        if not tests:
            totals.failed.append(f"{log}: no test was run")
        print(f"{log.parent.parent.name}:")
        for test in tests:
            totals.take(test)
    totals.passed += len(options.passed)
    totals.failed += options.failed
    for name, why in totals.skipped:
        print(f"skipped: {name}: {why}")
    for name in totals.failed:
        print(f"failed: {name}")
    if options.none_skipped and totals.skipped:
        print("Here no test may be skipped: that counts as a failure.")
    print(f"{totals.passed} passed, {len(totals.failed)} failed, {len(totals.skipped)} skipped")
    sys.exit(1 if totals.failed or (options.none_skipped and totals.skipped) else 0)


main()
