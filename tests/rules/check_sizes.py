#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Sizes: a file has at most 400 lines, a function at most 60. Tables of data are exempt: they are not functions."""
import pathlib
import re
import sys

MAX_FILE, MAX_FUNCTION = 400, 60
BANNED = re.compile(r"(utils?|helpers?|common|misc)\.[ch]$")


def functions(lines):
    """Yields (line number, length) of each block that opens in column 0 and closes with a brace there, tables excepted."""
    start = None
    for number, line in enumerate(lines, 1):
        if start is None:
            if line == "{" or (re.match(r"^[a-z].*\)\s*\{$", line) and "=" not in line):
                start = number
        elif line == "}":
            yield start, number - start + 1
            start = None


def main():
    faults, n_functions, longest = [], 0, 0
    files = [p for top in ("src", "include", "tests") for p in sorted(pathlib.Path(top).rglob("*.[ch]"))]
    for path in files:
        lines = path.read_text(encoding="utf-8").splitlines()
        if len(lines) > MAX_FILE:
            faults.append(f"{path}: {len(lines)} lines, at most {MAX_FILE}: split it by subject")
        if BANNED.search(path.name):
            faults.append(f"{path}: name a file after its subject")
        if lines and "SPDX-License-Identifier" not in lines[0]:
            faults.append(f"{path}:1: begin with an SPDX line")
        for start, length in functions(lines):
            n_functions, longest = n_functions + 1, max(longest, length)
            if length > MAX_FUNCTION:
                faults.append(f"{path}:{start}: a function of {length} lines, at most {MAX_FUNCTION}")
    print("\n".join(faults) or f"{len(files)} files, {n_functions} functions, the longest {longest} lines")
    sys.exit(1 if faults or not n_functions else 0)


main()
