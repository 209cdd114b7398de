# SPDX-License-Identifier: MIT
"""The calculators from the command line and on the dashboard: answers, exit statuses, errors, JSON, SVG."""
import json
import pathlib
import re
import sys
import tempfile
import xml.etree.ElementTree

from program import Program, run_program, same, true, run


def answered(status, *arguments):
    done = run_program(*arguments)
    same(status, done.returncode, f"{' '.join(arguments)}: {done.stdout}{done.stderr}")
    same("", done.stderr, "nothing to stderr")
    return done.stdout


def refused(*arguments):
    done = run_program(*arguments)
    same(2, done.returncode, f"{' '.join(arguments)}: {done.stdout}{done.stderr}")
    same("", done.stdout, "nothing to stdout")
    same(1, done.stderr.count("\n"), "one line")
    true(done.stderr.startswith("loomwatch: "), done.stderr)
    return done.stderr


def check_exit_status_is_the_verdict():
    true("as it should be" in answered(0, "meter", "between=60"), "60 ohm")
    true("a terminator is missing" in answered(1, "meter", "between=118", "units=6"), "118 ohm")
    true("No reading is given" in answered(2, "meter"), "no reading")
    true("the rules disagree" in answered(1, "stub", "drop=2.4m", "rate=500k"), "2.4 m")
    true("short enough" in answered(0, "stub", "drop=1m", "rate=500k"), "1 m")


def check_cautions_open_the_meter_sheet():
    true(answered(0, "meter", "between=60").startswith("Caution: Switch the supply off"), "cautions first")


def check_bad_input_says_what_to_write():
    true("is negative" in refused("meter", "between=-5"), "negative ohms")
    true("is volts; this field takes ohms, for instance between=118" in refused("meter", "between=4.1V"), "volts in the ohm field")
    true("write one of: between" in refused("meter", "betwen=5"), "a near field")
    true("which field is that" in refused("meter", "118"), "no field")
    true("rate is missing" in refused("stub", "drop=2"), "missing field")
    true("neither a drop nor a trunk" in refused("stub", "rate=500k"), "nothing to judge")
    true("does not go with meter" in refused("meter", "--pace", "full", "between=60"), "an option of others")
    true("at most 64 words" in refused("meter", *["between=60"] * 65), "too many words")
    true("ends in .svg" in refused("stub", "drop=2", "rate=500k", "-o", "plot.png"), "not SVG")
    true("has no plot" in refused("meter", "between=60", "-o", "plot.svg"), "no plot")


def check_json_says_the_same_as_the_text():
    sheet = json.loads(answered(1, "meter", "between=118", "units=6", "--json"))
    same("does not fit", sheet["verdict"], "verdict")
    text = re.sub(r"\s+", " ", answered(1, "meter", "between=118", "units=6"))
    for answer in sheet["answers"]:
        true(answer["text"] in text, answer["text"])
    for row in sheet["rows"]:
        true(row["value"] in text and row["working"] in text, str(row))
    for caution in sheet["cautions"]:
        true(caution in text, caution)


def check_svg_is_a_picture_and_never_overwritten_unasked():
    with tempfile.TemporaryDirectory(prefix="loomwatch-e2e-") as folder:
        path = pathlib.Path(folder) / "lengths.svg"
        arguments = ("stub", "drop=2.4m", "rate=500k", "trunk=18m", "-o", str(path))
        answered(1, *arguments)
        root = xml.etree.ElementTree.parse(path).getroot()
        space = "{http://www.w3.org/2000/svg}"
        same(f"{space}svg", root.tag, "root")
        true(len(root.findall(f".//{space}polyline")) == 3, "three lines")
        words = " ".join(text.text or "" for text in root.iter(f"{space}text"))
        for wanted in ("bit rate, bit/s", "length of the trunk, m", "1 Mbit/s", "this bus", "MOTORTECH's table"):
            true(wanted in words, f"{wanted} in {words}")
        true("--replace overwrites it" in refused(*arguments), "not overwritten")
        answered(1, *arguments, "--replace")


def check_help_lists_every_field():
    text = answered(0, "meter", "--help")
    for field in ("between", "terminators", "h-ground", "position"):
        true(re.search(rf"^  {field} ", text, re.M), f"{field} in {text}")
    same(text, answered(0, "help", "meter"), "help meter")
    true("stub" in answered(0, "--help") and "FIELD=VALUE" in answered(0, "--help"), "the program's help")
    true("this-side" in answered(0, "--man"), "man page")


def check_dashboard_page_answers_like_the_command():
    with Program("watch", "--mute") as screen:
        screen.see(r"\d+ messages heard")
        screen.keys("w")
        screen.see(r"▸meter +timing +stub +fit")
        screen.type("118")
        screen.see(r"between +118_")
        screen.keys("Enter")
        screen.see(r"\[does not fit\] Between H and L 118 ohm")
        screen.keys("Right", "Right")
        screen.see(r"▸stub")
        screen.see(r"rate is missing")
        screen.type("2.4m")
        screen.keys("Down")
        screen.type("500k")
        screen.keys("Enter")
        screen.see(r"the rules disagree")
        screen.keys("Escape")
        screen.see(r"all messages")
        screen.keys("q")
        same(0, screen.status(), "exit status")


if __name__ == "__main__":
    run(sys.modules[__name__])
