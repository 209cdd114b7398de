#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""DEVELOPERS.md has a line for every source file, and none for a file that is gone."""
import pathlib
import re
import sys

text = pathlib.Path("DEVELOPERS.md").read_text(encoding="utf-8")
listed = set(re.findall(r"^\| `([a-z0-9_]+\.[ch])` \|", text, re.M))
sources = {p.name for p in pathlib.Path("src").rglob("*.c")}
headers = {p.name for p in pathlib.Path("src").rglob("*.h")}
faults = [f"DEVELOPERS.md: no line for {name}" for name in sorted(sources - listed)]
faults += [f"DEVELOPERS.md: {name} is gone" for name in sorted(listed - sources - headers)]
print("\n".join(faults) or f"{len(sources)} source files in the code map")
sys.exit(1 if faults else 0)
