# SPDX-License-Identifier: MIT
"""The commands without a screen: what they print, and exit statuses 0, 1 and 2."""
import json
import pathlib
import re
import signal
import subprocess
import sys
import tempfile

from program import PROGRAM, run_program, same, true, wait_until, run

BENCH = "bench:harrow40"


def in_folder(check):
    def wrapped():
        with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
            check(pathlib.Path(folder))
    return wrapped


def status(wanted, *arguments, **more):
    done = run_program(*arguments, **more)
    same(wanted, done.returncode, f"{' '.join(map(str, arguments))}: {done.stderr}")
    return done


def learn(path, *more):
    return status(0, "baseline", BENCH, "--for", "7s", "-o", path, *more)


@in_folder
def check_baseline_is_written_once(folder):
    path = folder / "sweeper.baseline"
    done = learn(path)
    true("32 messages of 1 bus learned" in done.stdout, done.stdout)
    text = path.read_text(encoding="utf-8")
    true(text.startswith("loomwatch-baseline = 1\n") and 'id "0A0"' in text and "period-ms = 10.0" in text, text[:600])
    done = status(2, "baseline", BENCH, "--for", "2s", "-o", path)
    true("--replace" in done.stderr, done.stderr)
    same(text, path.read_text(encoding="utf-8"), "the baseline that was there")


@in_folder
def check_replacing_keeps_names(folder):
    path = folder / "sweeper.baseline"
    learn(path)
    text = path.read_text(encoding="utf-8")
    at = text.index('id "0A0"')
    path.write_text(text[:at] + text[at:].replace('name = ""', 'name = "Bürste \\"links\\""', 1), encoding="utf-8")
    learn(path, "--replace")
    true('name = "Bürste \\"links\\""' in path.read_text(encoding="utf-8"), "the name is gone")
    path.write_text("loomwatch-baseline = 1\nbus {", encoding="utf-8")
    done = status(2, "baseline", BENCH, "--for", "2s", "-o", path, "--replace")
    true("line 2" in done.stderr and "names cannot be kept" in done.stderr, done.stderr)
    same("loomwatch-baseline = 1\nbus {", path.read_text(encoding="utf-8"), "the file to be mended")


@in_folder
def check_baseline_to_stdout_is_the_same_file(folder):
    path = folder / "sweeper.baseline"
    learn(path)
    same(path.read_text(encoding="utf-8"), status(0, "baseline", BENCH, "--for", "7s").stdout, "baseline on stdout")


@in_folder
def check_compare_statuses(folder):
    path, other = folder / "sweeper.baseline", folder / "other.baseline"
    learn(path)
    true("No difference in 32 messages." in status(0, "compare", path, path).stdout, "the same baseline differs")
    status(0, "compare", path, BENCH, "--for", "7s")
    done = status(1, "compare", path, BENCH, "--for", "12s")     # the sensor joins after eight seconds
    true(re.search(r"2D0 +unexpected", done.stdout), done.stdout)
    text = path.read_text(encoding="utf-8")
    other.write_text(text.replace('id "0A0"', 'id "0A1"'), encoding="utf-8")
    done = status(1, "compare", path, other)
    true(re.search(r"0A0 +absent", done.stdout) and re.search(r"0A1 +unexpected", done.stdout), done.stdout)
    done = status(2, "compare", path, BENCH, "--for", "20ms")
    true("Could not tell" in done.stdout, done.stdout)
    status(2, "compare", folder / "nowhere", BENCH)
    status(2, "compare", path, folder / "nowhere.pcap")
    status(2, "compare", path, "bench:tractor")


@in_folder
def check_once_statuses(folder):
    path = folder / "sweeper.baseline"
    learn(path)
    status(0, "watch", "--once", "--for", "5s", BENCH)
    status(0, "watch", "--once", "--for", "7s", BENCH, "--baseline", path)
    done = status(1, "watch", "--once", "--for", "12s", BENCH, "--baseline", path)
    true("unexpected message, still there, came first." in done.stdout, done.stdout)
    true("not in the baseline" in done.stdout, done.stdout)
    path.write_text("Dear fitter,\n", encoding="utf-8")
    done = status(2, "watch", "--once", "--for", "1s", BENCH, "--baseline", path)
    true("this is no baseline" in done.stderr, done.stderr)
    status(2, "watch", "--once", "bench:tractor")


def check_once_is_the_default_without_a_terminal():
    done = status(0, "watch", "--for", "2s", BENCH)
    true(done.stdout.startswith("Watched for 0:02.0. "), done.stdout[:200])
    true("\x1b" not in done.stdout, "escape codes without a terminal")


def check_json_says_the_same():
    done = status(0, "watch", "--json", "--for", "5s", BENCH)
    report = json.loads(done.stdout)
    same(32, report["counts"]["messages"], "messages")
    same("harrow40", report["buses"][0]["name"], "bus")
    same(500000, report["buses"][0]["bit-rate"], "bit rate")
    true(abs(report["watched-s"] - 5) < 0.001, report["watched-s"])
    fast = next(m for m in report["messages"] if m["id"] == "0A0")
    true(9.8 < fast["period-ms"] < 10.2 and fast["kind"] == "cyclic", fast)
    same(sum(m["frames"] for m in report["messages"]), report["buses"][0]["frames"], "frames in total")


def check_seed_repeats_and_changes():
    first = status(0, "watch", "--once", "--for", "3s", BENCH, "--seed", "7").stdout
    same(first, status(0, "watch", "--once", "--for", "3s", BENCH, "--seed", "7").stdout, "the same seed")
    true(first != status(0, "watch", "--once", "--for", "3s", BENCH, "--seed", "8").stdout, "another seed says the same")


def catches(pid, number):
    caught = re.search(r"SigCgt:\s*([0-9a-f]+)", pathlib.Path(f"/proc/{pid}/status").read_text(encoding="utf-8"))
    return int(caught.group(1), 16) >> number - 1 & 1


def check_stop_signals_end_with_a_report():
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        process = subprocess.Popen([PROGRAM, "watch", "--once", "--pace", "real", "--for", "1h", BENCH], text=True,
                                   encoding="utf-8", stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        # Until its handlers stand the signal would end it without a word.
        wait_until(lambda p=process: catches(p.pid, number), f"a handler of {number.name}")
        process.send_signal(number)
        out, _ = process.communicate(timeout=30)
        true(out.startswith("Watched for "), f"{number.name}: {out[:200]}")
        true(process.returncode in (0, 2), f"{number.name}: status {process.returncode}")     # 2: nothing heard yet


def check_help_version_and_mistakes():
    for arguments in (["--help"], ["-h"], ["help"], []):
        true("loomwatch watch" in status(0, *arguments).stdout, arguments)
    true(re.fullmatch(r"loomwatch \d+\.\d+\.\d+\n", status(0, "--version").stdout), "version")
    true(status(0, "--man").stdout.startswith(".TH"), "man page")
    for arguments in (["watch", "--for", "soon"], ["wach"], ["compare", "a"], ["baseline"], ["watch", "--nothing"]):
        done = status(2, *arguments)
        true(done.stderr.startswith("loomwatch: ") and not done.stdout, done.stderr)


MODULES = pathlib.Path(__file__).resolve().parents[3] / "config" / "modules"
BEFORE = MODULES.parent / "baselines" / "harrow40.baseline"


@in_folder
def check_fit_of_the_sensor_fits_before_and_collides_after(folder):
    path = folder / "sweeper.baseline"
    learn(path)
    done = status(0, "fit", path, MODULES / "hopper-load-sensor.module")
    true("[fits] It fits: load 2" in done.stdout, done.stdout)
    true("What was assumed" in done.stdout and "no frame is destroyed" in done.stdout, done.stdout)
    status(0, "baseline", BENCH, "--for", "20s", "-o", path, "--replace")
    done = status(1, "fit", path, MODULES / "hopper-load-sensor.module")
    true("2D0 hopper load of the module is sent on this bus already" in " ".join(done.stdout.split()), done.stdout)


@in_folder
def check_fit_counts_the_load_that_the_monitor_measures(folder):
    path = folder / "sweeper.baseline"
    status(0, "baseline", BENCH, "--for", "60s", "-o", path)
    done = run_program("watch", "--once", BENCH, "--for", "60s")
    measured, peak = map(float, re.search(r"load +([\d.]+) %, peak ([\d.]+)", done.stdout).groups())
    done = run_program("fit", path, MODULES / "obstacle-radar.module")
    usual = float(re.search(r"load ([\d.]+) %", done.stdout)[1])
    true(measured - 0.5 <= usual <= peak + 0.5, f"usual {usual}, measured {measured}, peak {peak}")


@in_folder
def check_fit_draws_and_tells_programs(folder):
    plot = folder / "fit.svg"
    done = status(0, "fit", BEFORE, MODULES / "obstacle-radar.module", "faults=1", "--json", "-o", plot)
    told = json.loads(done.stdout)
    same("fits", told["verdict"], "verdict")
    true("10A20640" in done.stdout and plot.read_text(encoding="utf-8").startswith("<"), done.stdout)


@in_folder
def check_fit_that_cannot_tell_says_what_to_write(folder):
    module = MODULES / "obstacle-radar.module"
    for words, says in (
            (["fit"], "module is missing"),
            (["fit", BEFORE, "/nowhere"], "/nowhere: No such file"),
            (["fit", module, module], "this is no baseline"),
            (["fit", BEFORE, BEFORE], "this is no module file"),
            (["fit", BEFORE, module, "bus=2"], "write bus=1"),
            (["fit", f"module={module}"], "no baseline"),
            (["watch", "--once", BENCH, "--module", module], "loomwatch fit BASELINE")):
        done = status(2, *words)
        true(says in done.stderr, f"{words}: {done.stderr}")
    path = folder / "untold.baseline"
    path.write_text(BEFORE.read_text(encoding="utf-8").replace("bit-rate = 500000", ""), encoding="utf-8")
    true("write rate=500k" in status(2, "fit", path, module).stderr, "the bit rate is not asked for")
    status(0, "fit", path, module, "rate=500k")


if __name__ == "__main__":
    run(sys.modules[__name__])
