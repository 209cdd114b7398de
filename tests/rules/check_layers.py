#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The dependency rule: app -> {ui, sources} -> bench -> core and app, ui -> calc -> core; never back, never ui <-> sources. And what
core, bench and calc must not know."""
import pathlib
import re
import sys

MAY_USE = {
    "core": {"core"},
    "bench": {"bench", "core"},
    "calc": {"calc", "core"},
    "sources": {"sources", "bench", "core"},
    "ui": {"ui", "bench", "calc", "core"},
    "app": {"app", "ui", "sources", "bench", "calc", "core"},
}
PURE = ("core", "bench", "calc")
# Headers that would give these I/O, a clock or a terminal.
NOT_IN_CORE = re.compile(r"^(unistd|fcntl|poll|pthread|signal|time|sys/.*|net/.*|linux/.*|pcap.*|.*curses.*|confuse|jansson)\.h$")
CORE_CALLS = re.compile(r"\b(clock_gettime|gettimeofday|time|printf|fprintf|puts|fopen|open|read|write|exit|abort)\s*\(")
INCLUDE = re.compile(r'^\s*#\s*include\s*[<"]([^">]+)[">]')


def layer_of(path):
    parts = path.parts
    return parts[1] if parts[0] == "src" else parts[2]


def check(path, faults):
    layer = layer_of(path)
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        match = INCLUDE.match(line)
        if match:
            name = match.group(1)
            used = name.split("/")[1] if name.startswith("loomwatch/") else None
            if used and used not in MAY_USE[layer]:
                faults.append(f"{path}:{number}: {layer} must not include {name}")
            if layer in PURE and NOT_IN_CORE.match(name):
                faults.append(f"{path}:{number}: core, bench and calc must not include <{name}>")
        elif layer in PURE and CORE_CALLS.search(re.sub(r"/\*.*?\*/|//.*|\"[^\"]*\"", "", line)) and not line.lstrip().startswith("*"):
            faults.append(f"{path}:{number}: core, bench and calc do no I/O and read no clock: {line.strip()}")
        if layer != "app" and path.parts[0] == "src" and re.search(r"\bexit\s*\(|\bprintf\s*\(", line) and "_exit" not in line:
            faults.append(f"{path}:{number}: only app/ prints or exits")


def main():
    faults, with_curses = [], []
    files = sorted([*pathlib.Path("src").rglob("*.[ch]"), *pathlib.Path("include").rglob("*.h")])
    if not files:
        sys.exit("no sources found: run from the top of the tree")
    for path in files:
        if path.parts[0] == "include" and len(path.parts) < 4:
            faults.append(f"{path}: public headers belong to a layer")
            continue
        check(path, faults)
        if re.search(r"#\s*include\s*<n?curses", path.read_text(encoding="utf-8")):
            with_curses.append(str(path))
    if len(with_curses) > 1:
        faults.append("more than one file includes curses: " + ", ".join(with_curses))
    print("\n".join(faults) or f"{len(files)} files keep the dependency rule")
    sys.exit(1 if faults else 0)


main()
