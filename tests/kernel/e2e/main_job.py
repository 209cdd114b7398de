#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The main job on vcan, seen on the dashboard: baseline, module plugged, resident silenced, bus off, first-out; every error
class in its window; interface down, deleted, back; two buses; record and read back.

Run inside scripts/in-can-kernel. Arguments: loomwatch, bus_player, the folder of screen.py."""
import json
import os
import re
import subprocess
import sys
import tempfile

LOOMWATCH, PLAYER, SUPPORT = sys.argv[1:4]
sys.path.insert(0, SUPPORT)
from screen import Screen, window  # noqa: E402

RESIDENTS = ["100:10:8", "1A0:100:8", "2B0:50:4", "18FEF100:250:8"]
PERIOD_S = {"100": 0.01, "1A0": 0.1, "2B0": 0.05, "18FEF100": 0.25}


class Bus:
    """Messages played onto an interface until stopped."""

    def __init__(self, interface, *messages):
        self.process = subprocess.Popen([PLAYER, "cyclic", interface, *messages, "--for", "120s"], stderr=subprocess.DEVNULL)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.stop()

    def stop(self):
        self.process.terminate()
        self.process.wait()


def error(class_bits, *data):
    subprocess.run([PLAYER, "error", "vcan0", class_bits, *data], check=True)


def ip(*words):
    subprocess.run(["ip", *words], check=True)


def lit(caption, signs="1!"):
    return lambda text: window(text, caption)[0] in signs


def take_baseline(screen, n):
    screen.wait_for(rf"{n} messages? heard")
    # Every resident must have settled before it can be missed.
    screen.wait(lambda text: all(re.search(rf"▪{ident}", text) for ident in PERIOD_S), "four settled tiles")
    screen.keys("b")
    screen.wait_for(rf"{n} of {n} expected")


def test_module_plugged_resident_silenced_bus_off():
    with Bus("vcan0", *RESIDENTS[1:]), Bus("vcan0", RESIDENTS[0]) as fast, \
            Screen([LOOMWATCH, "watch", "vcan0"]) as screen:
        take_baseline(screen, 4)
        with Bus("vcan0", "3C0:100:8", "3C1:50:2"):
            text = screen.wait_for(r"2 not in the baseline")
            assert "+3C0" in text and "+3C1" in text, text
            assert window(text, "NEW ID")[0] == "1", text
            fast.stop()
            text = screen.wait_for(r"×100")
            assert window(text, "ABSENT")[0] == "!", text
            error("040")
            text = screen.wait(lit("BUS OFF"), "bus off lit")
            assert window(text, "BUS OFF")[0] == "!", text
            assert window(text, "NEW ID")[0] == "1", "the first alarm keeps its mark: " + text
            screen.keys("a")
            text = screen.wait(lambda t: window(t, "BUS OFF")[0] == "*", "bus off acknowledged")
            assert window(text, "NEW ID")[0] == "1", text


def test_bus_off_first_is_first_out():
    with Bus("vcan0", *RESIDENTS), Screen([LOOMWATCH, "watch", "vcan0"]) as screen:
        take_baseline(screen, 4)
        error("008", "00", "00", "08", "0A")
        error("004", "00", "20")
        error("040")
        text = screen.wait(lit("BUS OFF"), "bus off lit")
        assert window(text, "ERRORS")[0] == "1" and window(text, "PASSIVE")[0] == "!", text
        screen.keys("a", "f")
        screen.wait(lambda t: window(t, "ERRORS")[0] == "*", "first-out reset")


def test_every_error_class_shows():
    """Class bits and data as in linux/can/error.h, and what must be seen of each on the adapter page or in a window."""
    rows = [
        (["001"], "send timeout", None), (["002", "05"], "gave way", None),
        (["004", "00", "01"], "receive overrun", "LOST"), (["004", "00", "08"], "send warning", "WARNING"),
        (["004", "00", "10"], "receive passive", "PASSIVE"), (["008", "00", "00", "04"], "stuffing", "ERRORS"),
        (["010", "00", "00", "00", "00", "04"], "CANH open", None), (["020"], "no acknowledge", "NO ACK"),
        (["080"], "bus error", "ERRORS"), (["040"], "bus off", "BUS OFF"), (["100"], "restarted", None),
        (["200", "00", "00", "00", "00", "00", "00", "07", "09"], "counters", None),
    ]
    for words, name, caption in rows:
        with Bus("vcan0", RESIDENTS[0]), Screen([LOOMWATCH, "watch", "vcan0"], 132, 43) as screen:
            screen.wait_for("1 message heard")
            screen.keys("e")
            screen.wait_for("adapter of vcan0")
            error(*words)
            text = screen.wait_for(rf"\b1  {name}")
            if caption:
                screen.wait(lambda t, c=caption: window(t, c)[0] == "1", f"{caption} lit first")
            if words[0] == "200":
                assert re.search(r"TEC\s+7", text) and re.search(r"REC\s+9", text), text


def test_interface_down_deleted_back():
    with tempfile.TemporaryDirectory() as folder, Screen([LOOMWATCH, "watch", "vcan0", "--record", folder + "/r.pcap"]) as screen:
        with Bus("vcan0", *RESIDENTS):
            take_baseline(screen, 4)
        ip("link", "set", "vcan0", "down")
        text = screen.wait_for("The interface is down")
        assert window(text, "NO LINK")[0] in "1!", text
        ip("link", "del", "vcan0")
        screen.wait_for("The adapter is gone")
        ip("link", "add", "vcan0", "type", "vcan")
        ip("link", "set", "vcan0", "mtu", "72", "up")
        screen.wait(lambda t: window(t, "NO LINK")[1] == "~", "link alarm over")
        with Bus("vcan0", *RESIDENTS):
            text = screen.wait_for("4 of 4 expected messages present")
        assert window(text, "NEW ID")[0] == " " and window(text, "ABSENT")[0] == " ", "a hole is no change: " + text
        screen.keys("q")
        screen.wait_for("ended with 0")
        summary = subprocess.run([LOOMWATCH, "watch", "--once", folder + "/r.pcap"], capture_output=True, text=True, check=False)
        for words in ("is down", "is gone", "is back", "is up"):
            assert words in summary.stdout, "the gap is in the record: " + summary.stdout


def test_two_buses_at_once():
    ip("link", "add", "vcan1", "type", "vcan")
    ip("link", "set", "vcan1", "mtu", "72", "up")
    with Bus("vcan0", *RESIDENTS), Bus("vcan1", "100:20:8", "555:100:1"), \
            Screen([LOOMWATCH, "watch", "vcan0", "vcan1"], 132, 43) as screen:
        screen.wait_for("6 messages heard")
        screen.wait(lambda t: t.count("▪100") == 2, "the same identifier on both buses")
        screen.keys("b")
        screen.wait_for("6 of 6 expected")
        with Bus("vcan1", "0F0:50:8"):
            screen.wait_for(r"\+ 0F0 vcan1")
    ip("link", "del", "vcan1")


def test_absent_within_three_periods():
    """By the report's own times: from the last frame to the diary's entry, three periods and one judgement (50 ms)."""
    with Bus("vcan0", RESIDENTS[0], RESIDENTS[3]), tempfile.TemporaryDirectory() as folder:
        baseline = folder + "/b"
        learn = [PLAYER, "cyclic", "vcan0", "1A0:100:8", "--for", "6s"]
        with subprocess.Popen(learn):
            subprocess.run([LOOMWATCH, "baseline", "vcan0", "--for", "4s", "-o", baseline], check=True, capture_output=True)
        with subprocess.Popen([PLAYER, "cyclic", "vcan0", "1A0:100:8:20"]):
            run = subprocess.run([LOOMWATCH, "watch", "--once", "--json", "--for", "5s", "--baseline", baseline, "vcan0"],
                                 capture_output=True, text=True, check=False)
        assert run.returncode == 1, run.stdout + run.stderr
        report = json.loads(run.stdout)
        absent = [entry["at-s"] for entry in report["diary"] if "1A0 is absent" in entry["words"]]
        assert len(absent) == 1, report["diary"]
        frames = [m for m in report["messages"] if m["id"] == "1A0"]
        assert frames[0]["conditions"] == ["absent"] and frames[0]["frames"] > 5, frames
        silence = absent[0] - frames[0]["last-heard-s"]
        assert silence <= 3 * PERIOD_S["1A0"] + 0.06, f"{silence} s of silence before it was called absent"


def test_flood_is_counted():
    with Screen([LOOMWATCH, "watch", "vcan0"]) as screen:
        screen.wait_for("loomwatch")
        screen.wait_for("vcan0")
        subprocess.run([PLAYER, "flood", "vcan0", "300000"], check=True)
        screen.wait(lit("FULL"), "table full")
        text = screen.wait_for(r"lost \d+")
        assert re.search(r"2048 messages heard", screen.wait_for("messages heard")), text


def test_record_agrees_with_tcpdump():
    with tempfile.TemporaryDirectory() as folder, Bus("vcan0", *RESIDENTS):
        record = folder + "/r.pcap"
        run = subprocess.run([LOOMWATCH, "watch", "--once", "--json", "--for", "2s", "--record", record, "vcan0"],
                             capture_output=True, text=True, check=False)
        live = json.loads(run.stdout)
        again = json.loads(subprocess.run([LOOMWATCH, "watch", "--once", "--json", record], capture_output=True, text=True,
                                          check=False).stdout)
        counts = {m["id"]: m["frames"] for m in live["messages"]}
        assert counts == {m["id"]: m["frames"] for m in again["messages"]}, (live, again)
        count = subprocess.run(["tcpdump", "--count", "-r", record], capture_output=True, text=True, check=True).stdout
        notes = range(2, 6)  # the link report at the start; each verdict, and the last
        assert int(re.search(r"(\d+) packet", count).group(1)) - sum(counts.values()) in notes, (count, counts)


def test_bench_is_played_onto_a_virtual_interface():
    """Frames and error frames of the bench arrive on vcan0 as a driver would deliver them."""
    play = [LOOMWATCH, "bench", "harrow40", "--onto", "vcan0", "--for", "8s", "--at", "3s", "--fault",
            "bit-rate at pump 250k for 100ms"]
    watch = [LOOMWATCH, "watch", "--once", "--json", "--for", "7s", "vcan0"]
    with subprocess.Popen(play, stdout=subprocess.PIPE, text=True) as player:
        run = subprocess.run(watch, capture_output=True, text=True, check=False)
        said = player.stdout.read()
    report = json.loads(run.stdout)
    assert run.returncode == 1 and report["buses"][0]["bus-errors"] > 0, run.stdout
    assert len(report["messages"]) >= 30, report["messages"]
    assert player.returncode == 0 and "frames" in said, said


def test_bench_refuses_what_is_not_virtual():
    for interface, words in (("lo", "not a virtual CAN interface"), ("can7", "vcan")):
        run = subprocess.run([LOOMWATCH, "bench", "harrow40", "--onto", interface], capture_output=True, text=True, check=False)
        assert run.returncode == 2 and words in run.stderr, run.stderr


def main():
    tests = [value for name, value in sorted(globals().items()) if name.startswith("test_")]
    wanted = os.environ.get("LW_ONLY")
    for test in tests:
        if wanted and wanted not in test.__name__:
            continue
        test()
        print(f"passed: {test.__name__}", flush=True)


main()
