# SPDX-License-Identifier: MIT
"""A program in a detached tmux of fixed size, on a socket of its own: keys in, screen out. Nothing here sleeps for a
fixed time to let something happen; it waits until a text appears, with a time limit."""
import os
import re
import shlex
import subprocess
import time
import uuid

PATIENCE_S = 30


class Screen:
    """One program on one screen. Use it in a with statement: leaving ends the tmux server and what runs in it."""

    def __init__(self, command, width=80, height=24, env=None):
        self.socket = "lw-" + uuid.uuid4().hex[:12]
        settings = {"LANG": "C.UTF-8", "LC_ALL": "C.UTF-8"}
        settings.update(env or {})
        words = ["env", *[f"{name}={value}" for name, value in settings.items()], *command]
        line = shlex.join(words) + "; echo ended with $?; exec sleep 1000"
        self.tmux("-f", "/dev/null", "new-session", "-d", "-x", str(width), "-y", str(height), line)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def tmux(self, *words):
        run = subprocess.run(["tmux", "-L", self.socket, *words], check=True, capture_output=True, text=True,
                             env={**os.environ, "LC_ALL": "C.UTF-8"})
        return run.stdout

    def close(self):
        subprocess.run(["tmux", "-L", self.socket, "kill-server"], check=False, capture_output=True)

    def keys(self, *names):
        """Names as tmux knows them: "b", "Enter", "Escape", "Down", "Space"."""
        for name in names:
            self.tmux("send-keys", name)

    def text(self):
        return self.tmux("capture-pane", "-p")

    def coded(self):
        """The screen with its colour codes."""
        return self.tmux("capture-pane", "-p", "-e")

    def format(self, text):
        return self.tmux("display-message", "-p", text).strip()

    def resize(self, width, height):
        self.tmux("resize-window", "-x", str(width), "-y", str(height))

    def wait(self, claim, what, patience_s=PATIENCE_S):
        """Waits until claim(text of the screen) holds and returns that text."""
        deadline = time.monotonic() + patience_s
        while True:
            text = self.text()
            if claim(text):
                return text
            if time.monotonic() > deadline:
                raise AssertionError(f"waited {patience_s} s for {what}; the screen shows:\n{text}")
            time.sleep(0.03)

    def wait_for(self, pattern, patience_s=PATIENCE_S):
        return self.wait(lambda text: re.search(pattern, text), f"/{pattern}/", patience_s)

    def wait_gone(self, pattern, patience_s=PATIENCE_S):
        return self.wait(lambda text: not re.search(pattern, text), f"no /{pattern}/", patience_s)


def window(text, caption):
    """How an alarm window stands: ('1', '') came first, ('!', '~') not acknowledged and over by now, ('*', '') acknowledged,
    (' ', '') off. The screen shows it by two signs in front of the caption: 1 or blank, and one of ! ? * -."""
    match = re.search(r"([ 1])([ !?*-])" + re.escape(caption) + r"(\s|$)", text, re.M)
    if not match:
        raise AssertionError(f"no window {caption} on the screen:\n{text}")
    first, sign = match.group(1), match.group(2)
    state = "1" if first == "1" else {"?": "!", "-": "*"}.get(sign, sign)
    return state, "~" if sign in "?-" else ""


def is_acknowledged(text, caption):
    return re.search(r"[*-]" + re.escape(caption) + r"(\s|$)", text, re.M) is not None
