# SPDX-License-Identifier: MIT
"""The fitter's job on the built-in bench: baseline, plug in, a unit off, bus off, first-out; and what every key does."""
import pathlib
import re
import sys

from program import Program, same, true, wait_until, run

QUICK = ("watch", "--mute", "--pace", "3x")


def settled(*arguments, **more):
    """On the bench, with the sensor in, everything heard and a baseline taken."""
    screen = Program(*(arguments or QUICK), **more)
    screen.see(r"35 messages heard")
    screen.keys("b")
    screen.see(r"Baseline (taken )?of 35")
    screen.see(r"(\d+) of \1 expected messages present")
    return screen


def check_baseline_taken_then_sensor_plugged_lights_new_id():
    with Program("watch", "--mute") as screen:
        screen.see(r"3\d messages heard")
        screen.keys("b")
        screen.see(r"baseline of 0:\d+, 3\d messages")
        screen.keys("m")
        screen.see(r"done: p plugged in")
        screen.keys("p")
        screen.see(r"Marked: plugged in")
        screen.see_sign("NEW ID", "1")
        screen.see(r"\+ 2D0 +unexpected")
        screen.see(r"\d not in the baseline")
        screen.see(r"\d new since the mark")


def check_hopper_control_off_is_absent():
    with settled(*QUICK, "--at", "30s", "--fault", "unplugged at hopper-control for 15s") as screen:
        screen.see_sign("ABSENT", "1!")      # where it is cut off in a frame, a bus error comes first
        screen.see(r"× 0B0 +absent")
        screen.see(r"expected messages absent, 0B0 first")
        screen.see(r"\?ABSENT")       # over by now, and not acknowledged


def check_bus_off_first_out_and_the_alarm_keys():
    short = ("--at", "4s", "--fault", "short at point 2 0.1 for 4s")
    with Program("watch", "bench:bare-bench", *short, has_bytes=True) as screen:
        screen.see_sign("BUS OFF", "1!")
        wait_until(lambda: screen.bytes().count(b"\a") > 0, "the bell")
        screen.see(r"no more bus errors", 60) # the short is over; meanwhile bus off came back with each restart
        screen.see(r"\?BUS OFF")
        screen.keys("a")
        screen.see(r"-BUS OFF")
        screen.see(r"1-")                     # the first keeps its mark
        screen.keys("r")
        screen.see_sign("BUS OFF", " ")
        screen.see(r"1-")                     # reset does not take it
        screen.keys("f", "a", "r")
        screen.see_sign("BUS OFF", " ")
        screen.see_gone(r"1[!?*-][A-Z]")


def check_test_key_lights_every_window():
    with settled() as screen:
        screen.keys("t")
        for caption in ("BUS OFF", "NO ACK", "LOAD", "NEW ID", "NO REC"):
            screen.see_sign(caption, "!")
        screen.keys("t")
        for caption in ("BUS OFF", "NO ACK", "LOAD", "NEW ID", "NO REC"):
            screen.see_sign(caption, " ")


def check_bell_sounds_and_is_muted():
    with settled("watch", "--pace", "3x", has_bytes=True) as screen:
        screen.keys("t")
        wait_until(lambda: screen.bytes().count(b"\a") >= 2, "two bells")
        screen.keys("u")
        screen.see(r"The bell is muted")
        screen.see(r"^.*muted *$")
        screen.wait_quiet(5, lambda: screen.bytes().count(b"\a"))
        before = screen.bytes().count(b"\a")
        screen.keys("u")
        wait_until(lambda: screen.bytes().count(b"\a") > before, "the bell again")


def behind(screen):
    return int(screen.see(r"PAUSED at .*: (\d+) frames").group(1))


def check_pause_stands_still_and_counts():
    with settled() as screen:
        screen.keys("Space")
        screen.see(r"PAUSED at \d+:\d\d")
        first = behind(screen)
        wait_until(lambda: behind(screen) > first + 1000, lambda: f"frames behind to grow\n{screen.text()}")
        vitals = screen.lines()[1]
        wait_until(lambda: behind(screen) > first + 3000, "frames behind to grow on")
        same(vitals, screen.lines()[1], "the vitals of a paused view")
        screen.keys("Space")
        screen.see_gone(r"PAUSED")


def check_alarm_shows_on_a_paused_view():
    with settled(*QUICK, "--at", "30s", "--fault", "unplugged at hopper-control") as screen:
        screen.keys("Space")
        screen.see(r"PAUSED")
        screen.see_sign("ABSENT", "1!")
        screen.see(r"PAUSED")


def check_message_is_opened_on_a_paused_view():
    with settled() as screen:
        screen.keys("Space")
        screen.see(r"PAUSED")
        screen.keys("Home")
        screen.keys("Enter")
        screen.see(r"── 088 on harrow40")
        screen.keys("Right")
        screen.see(r"── 090 on harrow40")


def check_filter_shows_only_what_passes():
    with settled() as screen:
        screen.keys("/")
        screen.see(r"show only: _")
        screen.type("2d")
        screen.see(r"show only: 2d_")
        screen.keys("Enter")
        screen.see(r'messages with "2d"')
        screen.see(r"▪2D0")
        screen.see_gone(r"^.088")
        screen.keys("Escape")
        screen.see(r"── all messages")
        screen.see(r"^.088")
        screen.keys("/")
        screen.type("no such thing")
        screen.keys("Enter")
        screen.see(r"no message passes the filter")


def check_message_opens_in_full_and_closes():
    with settled() as screen:
        screen.keys("Right", "Right", "Enter")
        screen.see(r"── 090 on harrow40")
        screen.see(r"now +every 1\d\.\d ms|now +every 9\.\d+ ms|now +every 10\.\d ms")
        screen.see(r"heard +\d+ times")
        screen.keys("End")
        screen.see_gone(r"── 090 on harrow40")
        screen.keys("Escape")
        screen.see(r"── all messages")


def check_help_lists_keys_and_cautions():
    with Program(*QUICK) as screen:
        screen.see(r"all messages")
        screen.keys("?")
        screen.see(r"take all heard so far as baseline")
        screen.see(r"Disconnect the supply before")
        screen.keys("?")
        screen.see(r"all messages")
        screen.keys("h")
        screen.see(r"Disconnect the supply before")
        screen.keys("Escape")
        screen.see(r"all messages")


def check_adapter_page_counts_error_reports():
    with settled(*QUICK, "--at", "30s", "--fault", "bit-rate at pump 250k for 300ms") as screen:
        screen.see_sign("ERRORS", "1")
        screen.keys("e")
        screen.see(r"adapter of harrow40")
        screen.see(r"\d+ +bus error")
        screen.keys("Escape")
        screen.see(r"all messages")


def check_themes_go_round_and_ascii_is_ascii():
    with settled() as screen:
        for name in ("high-contrast", "colour-blind", "monochrome", "default"):
            screen.keys("c")
            screen.see(rf"Colours: {name}\.")
        screen.keys("g")
        wait_until(lambda: screen.text().isascii(), lambda: f"only ASCII on\n{screen.text()}")
        screen.see(r"^#088")
        screen.keys("g")
        screen.see(r"^▪088")


def check_second_sender_and_lost_frames_light_their_windows():
    with settled(*QUICK, "--at", "30s", "--fault", "duplicate at lighting 138") as screen:
        screen.see_sign("DOUBLED", "1!")
        screen.see(r"‖ 138 +doubled")


def check_lost_frames_and_a_missing_acknowledge_light_their_windows():
    with Program(*QUICK, "--at", "4s", "--fault", "overrun for 2s") as screen:
        screen.see_sign("LOST", "1!")
    with Program(*QUICK, "bench:bare-bench", "--at", "4s", "--fault", "unpowered at valve-module") as screen:
        screen.see_sign("NO ACK", "1!")
        screen.see(r"TEC 128 +REC 0")         # and no further: alone is not bus off


def check_all_keys_pressed_blindly_do_no_harm():
    keys = re.findall(r"\S+", "b m a s r f t Space Enter Left Right Up Down Home End / x y Enter BSpace Escape u c g h ? e i "
                              "F1 F12 PPage DC C-l C-a M-x Tab / Enter Space Enter Down Escape Escape c g t u")
    with settled() as screen:
        for key in keys * 3:
            screen.keys(key)
        true(screen.is_alive(), "it died of a key")
        screen.keys("Escape", "Escape", "q")
        same(0, screen.status(), "exit status")


def check_module_is_weighed_against_the_present_baseline():
    module = pathlib.Path(__file__).resolve().parents[3] / "config" / "modules" / "hopper-load-sensor.module"
    with Program("watch", "--mute", "--module", module, size=(132, 43)) as screen:
        screen.see(r"32 messages heard")
        screen.keys("w")
        screen.see(r"▸fit")
        screen.see(r"no baseline")
        screen.keys("Escape", "b", "w")
        screen.see(r"\[fits\] It fits: load 2")
        screen.keys("Escape")
        screen.see(r"35 messages heard|3 not in the baseline")
        screen.keys("b", "w")
        screen.see(r"\[does not fit\] It does not fit")
        screen.see(r"is sent on this bus")
        screen.keys("Escape", "q")
        same(0, screen.status(), "exit status")


def check_module_that_is_wrong_opens_no_screen():
    with Program("watch", "--module", "/nowhere/mine.module") as screen:
        same(2, screen.status(), "exit status")
        screen.see(r"/nowhere/mine.module: No such file")


if __name__ == "__main__":
    run(sys.modules[__name__])
