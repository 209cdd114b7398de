# SPDX-License-Identifier: MIT
"""The program on a screen (screen.py), and what else an end-to-end test asks of it: settings of the terminal, bytes written,
exit status, processes.

Nothing here sleeps for a fixed time: everything waits until something is so, and says what was on the screen if it never is.
Standard library only. A test file is a module of functions called check_*; run() calls them one after another.
"""
import contextlib
import os
import pathlib
import re
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from screen import Screen, window

PROGRAM = os.environ.get("LOOMWATCH", "loomwatch")
CAPTURES = pathlib.Path(os.environ.get("LW_CAPTURES", "/nowhere"))
PATIENCE_S = 30
SKIPPED = 77


class Failure(Exception):
    pass


def wait_until(is_so, what, patience=PATIENCE_S):
    """Asks again and again; returns the first true answer."""
    end = time.monotonic() + patience
    while True:
        answer = is_so()
        if answer:
            return answer
        if time.monotonic() > end:
            raise Failure(f"waited {patience} s for {what() if callable(what) else what}")
        time.sleep(0.05)


def run_program(*arguments, env=None, timeout=60, **more):
    """Without a screen: returns the finished process, its output as text."""
    return subprocess.run([PROGRAM, *map(str, arguments)], env={**os.environ, **(env or {})}, timeout=timeout, text=True,
                          encoding="utf-8", errors="replace", stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE, check=False, **more)


class Program(Screen):
    """loomwatch on one screen. Use it with `with`."""

    def __init__(self, *arguments, size=(80, 24), env=None, shell_before="", has_bytes=False):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="loomwatch-e2e-"))
        self.bytes_path = self.folder / "bytes"
        script = self.write_script([PROGRAM, *map(str, arguments)], env or {}, shell_before)
        try:
            super().__init__(["sh", script], *size)
            if has_bytes:
                self.tmux("pipe-pane", f"cat >>'{self.bytes_path}'")
            (self.folder / "go").touch()
        except BaseException:
            self.__exit__()
            raise

    def write_script(self, words, env, shell_before):
        """The shell in the pane waits for a file, so that what listens to the pane hears the first byte."""
        settings = {"LC_ALL": "C.UTF-8", "TERM": "tmux-256color", **env}
        script = self.folder / "script"
        script.write_text("\n".join([
            "unset NO_COLOR",
            *(f"export {name}={shlex.quote(value)}" for name, value in settings.items()),
            f"cd {shlex.quote(str(self.folder))}",
            "until [ -e go ]; do sleep 0.02; done",
            "stty -a >before",
            shell_before,
            f"sh -c 'echo $$ >pid.new; mv pid.new pid; exec \"$@\"' sh {shlex.join(words)} 2>errors",
            "echo $? >status",
            "stty -a >after",
            "cat errors",
            "echo THE END",
            "exec sleep 600"]) + "\n", encoding="utf-8")
        return str(script)

    def __exit__(self, *_):
        if hasattr(self, "socket"):
            self.close()
        with contextlib.suppress(Failure):
            wait_until(lambda: not self.is_alive(), "the program to go", 5)
        if self.is_alive():
            self.kill(signal.SIGKILL)
        shutil.rmtree(self.folder, ignore_errors=True)

    # What is there

    def lines(self):
        return self.text().split("\n")

    def bytes(self):
        return self.bytes_path.read_bytes() if self.bytes_path.exists() else b""

    def pid(self):
        path = self.folder / "pid"
        return int(wait_until(lambda: path.exists() and path.read_text(encoding="ascii"), "the program's number"))

    def is_alive(self):
        path = self.folder / "pid"
        if not path.exists():
            return False
        try:
            stat = pathlib.Path(f"/proc/{path.read_text(encoding='ascii').strip()}/stat").read_text(encoding="utf-8")
        except (FileNotFoundError, ProcessLookupError):
            return False
        return stat.rsplit(")", 1)[1].split()[0] not in "ZX"

    def status(self):
        """Exit status as the shell saw it, once the program has ended."""
        path = self.folder / "status"
        return int(wait_until(lambda: path.exists() and path.read_text(encoding="ascii").strip(), "the program to end"))

    def errors(self):
        return (self.folder / "errors").read_text(encoding="utf-8", errors="replace")

    def stty(self, when):
        """Terminal settings before the program, after it, or now; without the size."""
        if when == "now":
            tty = self.format("#{pane_tty}")
            text = subprocess.run(["stty", "-a", "-F", tty], text=True, stdout=subprocess.PIPE, check=True).stdout
        else:
            path = self.folder / when
            text = wait_until(lambda: path.exists() and path.read_text(encoding="utf-8").strip(), f"stty {when}")
        return re.sub(r"rows \d+; columns \d+;", "", text).split()

    # What is done

    def type(self, text):
        self.tmux("send-keys", "-l", text)

    def kill(self, number):
        os.kill(self.pid(), number)

    # What is waited for

    def see(self, pattern, patience=PATIENCE_S):
        """Waits for a regular expression on the screen; returns the match. No longer than the program lives."""
        def look():
            has_ended = (self.folder / "after").exists()
            match = re.search(pattern, self.text(), re.M)
            if has_ended and not match and pattern != "THE END":
                raise Failure(f"the program ended before /{pattern}/ was on\n{self.text()}")
            return match
        return wait_until(look, lambda: f"/{pattern}/ on\n{self.text()}", patience)

    def see_gone(self, pattern, patience=PATIENCE_S):
        wait_until(lambda: not re.search(pattern, self.text(), re.M), lambda: f"/{pattern}/ to go from\n{self.text()}", patience)

    def see_sign(self, caption, signs):
        """Waits until an alarm window has one of these signs in front: blank, 1, ! or *."""
        def look():
            with contextlib.suppress(AssertionError):
                return window(self.text(), caption)[0] in signs
            return False
        wait_until(look, lambda: f"{caption} to have one of {signs!r}\n{self.text()}")

    def wait_format(self, name, value):
        words = "#{" + name + "}"
        wait_until(lambda: self.format(words) == value, lambda: f"{name} to be {value}, not {self.format(words)}")

    def wait_quiet(self, seconds, count=None, patience=PATIENCE_S):
        """Waits until a number stands still for so long: by default that of the bytes written to the terminal."""
        count = count or (lambda: len(self.bytes()))
        seen, since = count(), time.monotonic()
        end = since + patience
        while time.monotonic() - since < seconds:
            if time.monotonic() > end:
                raise Failure(f"never still for {seconds} s; on the screen:\n{self.text()}")
            time.sleep(0.05)
            now = count()
            if now != seen:
                seen, since = now, time.monotonic()
        return seen


def same(wanted, got, what):
    if wanted != got:
        raise Failure(f"{what}: {got!r}, wanted {wanted!r}")


def true(claim, what):
    if not claim:
        raise Failure(what() if callable(what) else what)


def skip(why):
    print(f"skipped: {why}")
    sys.exit(SKIPPED)


def run(module):
    """Runs every check_* of a module, or those named on the command line."""
    if not shutil.which("tmux"):
        skip("tmux is not installed")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))     # so that every screen is cleared away
    wanted = sys.argv[1:]
    n_failed = 0
    for name, check in list(vars(module).items()):
        if not name.startswith("check_") or (wanted and name not in wanted):
            continue
        start = time.monotonic()
        try:
            check()
            print(f"ok      {name} ({time.monotonic() - start:.1f} s)", flush=True)
        except (Failure, AssertionError, subprocess.SubprocessError, OSError) as failure:
            n_failed += 1
            print(f"FAILED  {name} ({time.monotonic() - start:.1f} s): {failure}", flush=True)
    sys.exit(1 if n_failed else 0)
