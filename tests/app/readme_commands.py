# SPDX-License-Identifier: MIT
"""Runs every command of README.md that is shown with its output, and compares: a fenced block whose first line begins with
"$ loomwatch". Standard output and errors, then; a line "[...]" stands for any number of lines. The exit status, where README tells
it, is on the fence: ```text status=1. Run in the top folder of the project, so that its files can be named.

With LW_UPDATE_GOLDEN set the blocks are written anew; what [...] stands for stays left out.
"""
import os
import pathlib
import re
import shlex
import subprocess
import sys

PROGRAM = os.environ["LOOMWATCH"]
README = pathlib.Path(sys.argv[1])
BLOCK = re.compile(r"^```(?P<info>[^\n]*)\n\$ loomwatch (?P<words>[^\n]*)\n(?P<shown>.*?)^```$", re.M | re.S)
LEFT_OUT = "[...]"


def run(words):
    done = subprocess.run([PROGRAM, *shlex.split(words)], cwd=README.parent, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, encoding="utf-8", timeout=60, check=False)
    return done.stdout, done.returncode


def parts_of(shown):
    """What is shown, cut at the lines that stand for others."""
    return [part for part in re.split(rf"^{re.escape(LEFT_OUT)}\n", shown, flags=re.M)]


def is_same(shown, output):
    pattern = "(?:.*\n)*?".join(re.escape(part) for part in parts_of(shown))
    return re.fullmatch(pattern, output) is not None


def renewed(shown, output):
    """The same number of lines from top and bottom."""
    parts, lines = parts_of(shown), output.splitlines(keepends=True)
    if len(parts) == 1:
        return output
    top, bottom = parts[0].count("\n"), parts[-1].count("\n")
    return "".join(lines[:top]) + LEFT_OUT + "\n" + "".join(lines[len(lines) - bottom:])


def main():
    text, faults, n = README.read_text(encoding="utf-8"), [], 0

    def check(match):
        nonlocal n
        n += 1
        output, status = run(match["words"])
        wanted = re.search(r"status=(\d+)", match["info"])
        if wanted and int(wanted[1]) != status:
            faults.append(f"loomwatch {match['words']} ends with {status}, README says {wanted[1]}")
        if is_same(match["shown"], output):
            return match[0]
        if not os.environ.get("LW_UPDATE_GOLDEN"):
            faults.append(f"README shows something else for: loomwatch {match['words']}\n--- README\n{match['shown']}--- the program\n{output}"
                          "(scripts/update-golden renews it)")
        return match[0].replace(match["shown"], renewed(match["shown"], output)) if match["shown"] else \
            f"```{match['info']}\n$ loomwatch {match['words']}\n{output}```"

    text = BLOCK.sub(check, text)
    if os.environ.get("LW_UPDATE_GOLDEN"):
        README.write_text(text, encoding="utf-8")
    print("\n".join(faults) or f"{n} commands of README do what it shows")
    sys.exit(1 if faults or n < 3 else 0)


main()
