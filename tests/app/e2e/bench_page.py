# SPDX-License-Identifier: MIT
"""The bench page at the keyboard: a sensor plugged in wrongly and put right, the meter, the bits of a frame, help and back;
and the exercises of README."""
import re
import sys

from program import Program, true, wait_until, run

HEALTHY = r"no fault put in"


def on_bench(*arguments, **more):
    """On the bench page, everything at rest."""
    screen = Program("watch", "--mute", *arguments, **more)
    screen.see(r"all messages")
    screen.see(r"\d+ messages heard")
    screen.keys("x")
    screen.see(r"── bench .* · supply on · ")
    return screen


def units(screen):
    """The units as the drawing lists them; the chosen one has its mark."""
    return re.findall(r"[\[<]([ ▸][a-z][a-z ]*[a-z]) *[\]>]", screen.text())


def choose(screen, name):
    """Walks from the chosen unit to another."""
    names = units(screen)
    here = next(i for i, unit in enumerate(names) if unit.startswith("▸"))
    steps = [unit[1:] for unit in names].index(name) - here
    screen.keys(*["Down" if steps > 0 else "Up"] * abs(steps))
    screen.see(r"▸" + name)


def choose_point(screen, name):
    """Walks along the trunk, from the bench as a whole."""
    screen.keys("Home")
    screen.see(r"── ▸ bench")
    walk(screen, r"^▸" + name)


def walk(screen, pattern):
    """Down, a step at a time, until the mark is where it should be."""
    for _ in range(40):
        if re.search(pattern, screen.text(), re.M):
            return
        before = marked(screen)
        screen.keys("Down")
        wait_until(lambda: marked(screen) != before, lambda: f"the mark to move on\n{screen.text()}")
    true(False, lambda: f"/{pattern}/ is not on\n{screen.text()}")


def marked(screen):
    return [line for line in screen.lines() if "▸" in line]


def do(screen, entry):
    """Opens the menu of the chosen place and does one thing of it."""
    screen.keys("Enter")
    screen.see(r"Enter does it")
    walk(screen, r"▸ " + entry)
    screen.keys("Enter")
    screen.see_gone(r"Enter does it")


def check_sensor_plugged_in_swapped_is_seen_and_put_right():
    for size in ((80, 24), (132, 43)):
        with on_bench(size=size) as screen:
            choose(screen, "hopper load sensor")
            screen.see(r"▸hopper load sensor +\] (unplugged|active)")    # after 8 s it plugs itself in
            if "hopper load sensor   ] unplugged" in screen.text():
                do(screen, "plug it in")
            screen.see(r"▸hopper load sensor +\] active")
            screen.see(r"No errors")
            do(screen, "swap H and L")
            screen.see(r"! H and L swapped at the hopper load sensor")
            screen.see(r"1 fault put in")
            screen.see_sign("ERRORS", "1!")
            screen.see(r"Frames are being spoilt|hardly a frame gets through|not come back")
            screen.see(r"▸hopper load sensor +\] (warning|passive|bus off)")
            screen.see(r"swap" if size[0] < 100 else r"╳|swap")
            do(screen, "take off: H and L swapped")
            screen.see(HEALTHY)
            screen.see_gone(r"Frames are being spoilt|hardly a frame gets through|not come back")
            screen.see(r"▸hopper load sensor +\] active")
            screen.see(r"\?ERRORS")                 # over by now, and not acknowledged
            screen.keys("f", "a", "r")
            screen.see_gone(r"[?!*-]ERRORS")


def check_meter_reads_60_ohm_and_120_without_a_terminator():
    with on_bench() as screen:
        screen.see(r"meter ◎ H 2\.[67]\d V  L 2\.[34]\d V to ground")
        screen.keys("p")
        screen.see(r"supply OFF")
        screen.see(r"our adapter +> no supply")
        screen.see(r"meter ◎ 6\d\.?\d* ohm H to L")
        screen.see(r"both terminators, .*as it should be")
        choose_point(screen, "rear end")
        do(screen, "take the terminator out")
        screen.see(r"rear end +◎ none ◎")
        screen.see(r"meter ◎ 12\d ohm H to L")
        screen.see(r"one terminator alone: the other is missing")
        screen.keys("k")
        screen.see(HEALTHY)
        screen.see(r"meter ◎ 6\d\.?\d* ohm H to L")
        screen.keys("p")
        screen.see(r"supply on")
        screen.see(r"our adapter +> active")


def check_bits_keep_the_last_frame_with_an_error():
    with on_bench("--at", "30s", "--pace", "3x", "--fault", "bit-rate at pump 250k for 100ms") as screen:
        screen.keys("v")
        screen.see(r"── bits of the last frame, as our adapter sees them")
        screen.see(r"^dominant")
        screen.keys("e")
        screen.see(r"── bits of the last frame with an error, as our adapter sees them")
        screen.see(r"None yet: no frame of the last .* ended\s+with")
        screen.see(r"── last frame with an error, \S+ .?s ago, as our adapter sees it")
        screen.see(r"raises\s+an\s+error\s+at\s+bit\s+\d+\s+\(")
        screen.see(r"error flag")
        screen.see(r"── last frame with an error, [2-9]\.\d+ s ago")       # good ones follow, and it is still there
        screen.keys("e")
        screen.see(r"── bits of the last frame, as our adapter sees them")
        screen.see_gone(r"raises\s+an\s+error")
        screen.keys("e", "Down")
        screen.see(r"None yet: [^═]* at\s+the\s+water\s+pump")
        screen.keys("Escape")
        screen.see(r"── bench harrow40 · ")


def check_help_on_the_bench_leads_back_to_it():
    with on_bench() as screen:
        for way_back in ("Escape", "?", "BSpace"):
            screen.keys("?")
            screen.see(r"bits: the last frame with an error")
            screen.keys(way_back)
            screen.see(r"── bench harrow40 · ")
        screen.keys("v")
        screen.see(r"── bits of the last frame")
        screen.keys("h")
        screen.see(r"Disconnect the supply before")
        screen.keys("Escape")
        screen.see(r"── bits of the last frame")
        screen.keys("Escape")
        screen.see(r"── bench harrow40 · ")
        screen.keys("Escape")
        screen.see(r"all messages")


# The exercises of README, "Learn on the built-in bench".

def check_exercise_1_the_lone_module():
    with on_bench("bench:bare-bench") as screen:
        choose(screen, "valve module")
        do(screen, "take its supply away")
        screen.see_sign("NO ACK", "1!")
        screen.see(r"our adapter +> passive +128/\d")
        screen.see(r"TEC 128")
        screen.see(r"errors \d+k lost 0")            # it goes on without end, and never bus off
        screen.see_sign("BUS OFF", " ")
        do(screen, "give it its supply back")
        screen.see(r"TEC 1[01]\d|TEC \d\d ")
        screen.see(r"our adapter +> active +\d\d?/0", 60)


def check_exercise_2_the_missing_terminator():
    for bench, ohm in (("long-bus", r"12\d"), ("harrow40", r"12\d")):
        with on_bench("bench:" + bench) as screen:
            choose_point(screen, "west end" if bench == "long-bus" else "front end")
            do(screen, "take the terminator out")
            screen.see(r"! terminator missing at")
            if bench == "long-bus":
                screen.see_sign("ERRORS", "1!")
            else:
                seen = int(screen.see(r"loomwatch +0:(\d\d)").group(1))
                wait_until(lambda: int(screen.see(r"loomwatch +0:(\d\d)").group(1)) > seen + 3, "four seconds")
                screen.see(r"No errors\.")
            screen.keys("p")
            screen.see(rf"meter ◎ {ohm} ohm H to L")


def check_exercise_3_the_swapped_pair():
    with Program("watch", "--mute") as screen:
        screen.see(r"3\d messages heard")
        screen.keys("b")
        screen.see(r"baseline of 0:\d+, 3\d messages")
        screen.see_sign("NEW ID", "1!")
        screen.keys("x")
        screen.see(r"── bench harrow40")
        choose(screen, "hopper load sensor")
        screen.see(r"▸hopper load sensor +\] active")
        do(screen, "swap H and L")
        screen.see_sign("ERRORS", "!")
        screen.see(r"(\[ body|\[ oper|\[ water|\[ hopper c|\[ sweep|\[ light)[a-z ]+\] bus off", 60)
        screen.keys("v")
        screen.see(r"── bits of the last frame, as the hopper load sensor sees them · held")
        screen.see(r"drives\s+dominant\s+and\s+reads\s+recessive")


def check_exercise_4_the_duplicate_identifier():
    with Program("watch", "--mute", "--at", "5s", "--fault", "duplicate at lighting 138") as screen:
        screen.see_sign("DOUBLED", "1!")
        screen.see(r"‖ 138 +doubled +since 0:05 +twice as often as before")
        screen.see(r"TEC 0 +REC 0 .*errors 0 ")


if __name__ == "__main__":
    run(sys.modules[__name__])
