# SPDX-License-Identifier: MIT
"""The terminal: any size at any time, colours only where wanted, nothing written without news, and given back on every exit."""
import random
import re
import signal
import sys

from program import CAPTURES, Program, same, true, wait_until, run

BENCH = ("watch", "--mute")
COLOUR = re.compile(rb"\x1b\[[0-9;:]*m")


def sets_a_colour(escape):
    """True for SGR codes that choose a colour. 39 and 49 give the default back."""
    codes = re.split(rb"[;:]", escape[2:-1])
    return any(code.isdigit() and (30 <= int(code) <= 38 or 40 <= int(code) <= 48 or 90 <= int(code) <= 107) for code in codes)


def up(*arguments, **more):
    screen = Program(*(arguments or BENCH), **more)
    screen.see(r"all messages")
    return screen


def is_given_back(screen, words):
    """After the end: the ordinary screen with a cursor, no keypad mode, and the settings from before."""
    same(screen.stty("before"), screen.stty("after"), f"terminal settings after {words}")
    screen.see(r"THE END")
    screen.wait_format("alternate_on", "0")
    screen.wait_format("cursor_flag", "1")
    screen.wait_format("keypad_flag", "0")
    screen.wait_format("keypad_cursor_flag", "0")


def check_taken():
    with up() as screen:
        screen.wait_format("alternate_on", "1")
        screen.wait_format("cursor_flag", "0")
        true(screen.stty("now") != screen.stty("before"), "the terminal was not taken over")


def check_given_back_on_quit():
    with up() as screen:
        screen.keys("q")
        same(0, screen.status(), "exit status")
        is_given_back(screen, "q")


def check_given_back_on_interrupt_from_the_keyboard():
    with up(shell_before="set -m") as screen:     # a job of its own, as under a person's shell
        screen.keys("C-c")
        same(0, screen.status(), "exit status")
        is_given_back(screen, "Ctrl-C")


def check_given_back_on_sigterm():
    with up() as screen:
        screen.kill(signal.SIGTERM)
        same(0, screen.status(), "exit status")
        is_given_back(screen, "SIGTERM")


def check_given_back_on_sighup():
    with up() as screen:
        screen.kill(signal.SIGHUP)
        screen.status()
        is_given_back(screen, "SIGHUP")


def check_given_back_on_crashes():
    for number in (signal.SIGSEGV, signal.SIGABRT, signal.SIGBUS):
        with up(shell_before="ulimit -c 0") as screen:
            screen.kill(number)
            same(128 + number, screen.status(), f"exit status of {number.name}")
            is_given_back(screen, number.name)


def check_given_back_while_stopped_and_taken_again():
    with up() as screen:
        for _ in range(2):
            screen.kill(signal.SIGTSTP)
            screen.wait_format("alternate_on", "0")
            screen.wait_format("cursor_flag", "1")
            wait_until(lambda: screen.stty("now") == screen.stty("before"), "the settings from before")
            screen.kill(signal.SIGCONT)
            screen.wait_format("alternate_on", "1")
            screen.see(r"all messages")
            screen.wait_format("cursor_flag", "0")
        screen.keys("q")
        same(0, screen.status(), "exit status")
        is_given_back(screen, "being stopped")


def check_ends_when_its_terminal_goes():
    with up() as screen:
        pid = screen.pid()
        screen.tmux("kill-server")
        wait_until(lambda: not screen.is_alive(), f"process {pid} to end with its terminal")


def check_every_size_at_any_time():
    sizes = [(132, 43), (40, 12), (40, 10), (39, 10), (40, 9), (10, 3), (2, 1), (300, 100), (80, 24)]
    with up() as screen:
        for w, h in sizes:
            screen.resize(w, h)
            if w < 40 or h < 10:
                screen.see("^to" if w < 3 else "^too")
            else:
                screen.see(r"^ loomwatch  \d")
                wait_until(lambda: "quit" in screen.lines()[h - 1], lambda: f"the last row at {w}x{h}\n{screen.text()}")
        screen.see(r"^.088")


def check_sizes_that_change_quickly():
    chance = random.Random(40)
    with up() as screen:
        for _ in range(60):
            screen.resize(chance.randint(1, 200), chance.randint(1, 70))
        screen.resize(80, 24)
        screen.see(r"^ loomwatch  \d")
        wait_until(lambda: "quit" in screen.lines()[23], lambda: f"the last row\n{screen.text()}")
        true(screen.is_alive(), "it died of a size")


def check_colours_and_none():
    with up(has_bytes=True) as screen:
        true(any(sets_a_colour(e) for e in COLOUR.findall(screen.bytes())), "no colours where they are wanted")
    for arguments, env in ((BENCH, {"NO_COLOR": "1"}), (BENCH + ("--theme", "monochrome"), {}), (BENCH, {"TERM": "vt100"})):
        with up(*arguments, env=env, has_bytes=True) as screen:
            screen.keys("t")
            screen.see_sign("BUS OFF", "!")
            screen.keys("?")
            screen.see(r"Disconnect")
            coloured = [e for e in COLOUR.findall(screen.bytes()) if sets_a_colour(e)]
            same([], coloured[:3], f"colours with {arguments} {env}")
    with up(*BENCH, "--theme", "default", env={"NO_COLOR": "1"}, has_bytes=True) as screen:
        true(any(sets_a_colour(e) for e in COLOUR.findall(screen.bytes())), "a theme asked for has no colours")


def check_plain_locale_means_plain_characters():
    with up(env={"LC_ALL": "C"}) as screen:
        screen.see(r"^[#o]088 ")
        true(screen.text().isascii(), screen.text)


def check_unknown_terminal_is_an_error():
    for name in ("no-such-terminal", "dumb"):     # the second cannot place its cursor
        with Program(*BENCH, env={"TERM": name}) as screen:
            same(2, screen.status(), f"exit status on {name}")
            same(screen.stty("before"), screen.stty("after"), f"terminal settings on {name}")
            true("--once" in screen.errors(), screen.errors)


def check_messages_of_libraries_come_after_the_screen():
    with up() as screen:
        screen.keys("q")
        screen.status()
        true("simulated: body bus" in screen.errors(), screen.errors)


def check_end_of_a_capture_writes_nothing_more():
    capture = CAPTURES / "boat-power-on.pcap"
    if not capture.exists():
        print("        (no captures: not checked)")
        return
    with Program("watch", "--pace", "full", capture, has_bytes=True) as screen:
        screen.see(r"^ .*: the end\.")
        screen.see_gone(r"^ .*: the end\.")    # the answer leaves after some seconds
        n = screen.wait_quiet(2)
        same(n, screen.wait_quiet(2), "bytes written without news")
        screen.keys("?")
        screen.see(r"Disconnect")
        true(len(screen.bytes()) > n, "keys are still answered")


if __name__ == "__main__":
    run(sys.modules[__name__])
