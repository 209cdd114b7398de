# SPDX-License-Identifier: MIT
"""Recordings: readable after kill -9 at any moment, and a disk that is full ends the recording, not the watching."""
import json
import pathlib
import re
import signal
import struct
import sys
import tempfile

from program import Program, run_program, same, true, wait_until, run

PCAP_HEADER, RECORD_HEADER = 24, 16


def whole_records(path):
    """Records that are whole, by the file's own bytes (pcap file format): not through any reader of ours."""
    data, at, n = path.read_bytes(), PCAP_HEADER, 0
    while at + RECORD_HEADER <= len(data):
        captured = struct.unpack_from("<I", data, at + 8)[0]
        if at + RECORD_HEADER + captured > len(data):
            break
        at, n = at + RECORD_HEADER + captured, n + 1
    return n, at


def size(path):
    return path.stat().st_size if path.exists() else 0


def heard(path):
    done = run_program("watch", "--json", path)
    true(done.returncode in (0, 1), f"status {done.returncode}: {done.stderr}")
    report = json.loads(done.stdout)
    return report["buses"][0]["frames"], report


def check_killed_recording_is_read_back():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        for i, least in enumerate((100, 40_000, 250_000)):
            path = pathlib.Path(folder) / f"killed{i}.pcap"
            with Program("watch", "--mute", "--pace", "20x", "--record", path) as screen:
                wait_until(lambda p=path, least=least: size(p) >= least, f"{least} bytes in {path}")
                screen.kill(signal.SIGKILL)
                same(128 + signal.SIGKILL, screen.status(), "exit status")
            n, end = whole_records(path)
            true(n > 0, "no record is whole")
            true(path.stat().st_size - end < RECORD_HEADER + 72, "more than one record is cut off")
            frames, report = heard(path)
            true(n - 20 <= frames <= n, f"{frames} frames read back of {n} records")     # the rest are link reports
            true(report["counts"]["messages"] >= 20 or least < 1000, report["counts"])


def check_recording_says_where_and_ends_whole():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        path = pathlib.Path(folder) / "trip.pcap"
        with Program("watch", "--mute", "--record", path, size=(132, 43)) as screen:
            screen.see(r"rec .*trip\.pcap")
            screen.see(r"3\d messages heard")
            screen.keys("m", "Enter")
            screen.see(r"Moment marked")
            screen.keys("q")
            same(0, screen.status(), "exit status")
        n, end = whole_records(path)
        same(path.stat().st_size, end, "bytes of whole records")
        frames, _ = heard(path)
        true(n - 20 <= frames <= n, f"{frames} of {n}")
        done = run_program("watch", "--once", "--for", "2s", "bench:harrow40", "--record", path)
        same(2, done.returncode, "status where the file is there already")
        true("--replace" in done.stderr, done.stderr)
        same((n, end), whole_records(path), "the recording that was there")


def check_full_disk_raises_an_alarm_and_watching_goes_on():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        path = pathlib.Path(folder) / "trip.pcap"
        with Program("watch", "--mute", "--pace", "5x", "--record", path, shell_before="ulimit -f 100") as screen:
            screen.see_sign("NO REC", "1!")
            true(screen.is_alive(), "the program is gone")
            clock = screen.lines()[0]
            wait_until(lambda: screen.lines()[0] != clock, lambda: f"watching to go on\n{screen.text()}")
            screen.see(r"error active")
            screen.keys("q")
            same(0, screen.status(), "exit status")
            true("recording is incomplete" in screen.errors(), screen.errors)
        n, end = whole_records(path)
        same(path.stat().st_size, end, "bytes of whole records")
        frames, _ = heard(path)
        true(n - 20 <= frames <= n and n > 100, f"{frames} of {n}")


def check_full_disk_without_a_screen_is_told():
    done = run_program("watch", "--once", "--for", "5s", "bench:harrow40", "--record", "/dev/full", "--replace")
    true(done.returncode in (1, 2), f"status {done.returncode}")
    true(re.search(r"record", done.stdout + done.stderr), done.stderr)


if __name__ == "__main__":
    run(sys.modules[__name__])
