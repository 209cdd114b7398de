#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""A real controller state from the driver to the screen: the kernel's serial-line driver, its adapter played by us. Error
active, warning, passive, bus off, restarted; netlink and error frames must agree.

Run inside scripts/in-can-kernel --own-kernel. Arguments: loomwatch, bus_player, the folder of screen.py."""
import re
import subprocess
import sys

LOOMWATCH, PLAYER, SUPPORT = sys.argv[1:4]
sys.path.insert(0, SUPPORT)
from screen import Screen, window  # noqa: E402


class Adapter:
    """The far side of the serial line: says what an adapter would."""

    def __init__(self):
        self.process = subprocess.Popen([PLAYER, "slcan", "can0"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.interface = self.process.stdout.readline().strip()

    def say(self, line):
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def unplug(self):
        self.process.stdin.close()
        self.process.wait()


def kernel_state(interface):
    text = subprocess.run(["ip", "-details", "link", "show", interface], capture_output=True, text=True, check=True).stdout
    return re.search(r"can state (\S+)", text).group(1)


def vitals(screen, state, tec, rec):
    return screen.wait_for(rf"can0 .*{state} +TEC {tec} +REC {rec} ")


def main():
    adapter = Adapter()
    assert adapter.interface == "can0", adapter.interface
    with Screen([LOOMWATCH, "watch", "can0"]) as screen:
        screen.wait_for("error active")
        screen.wait_for("500 kbit/s")
        adapter.say("t1232AABB")
        screen.wait_for("1 message heard")

        adapter.say("e1a")
        screen.wait(lambda t: window(t, "NO ACK")[0] == "1", "no acknowledge came first")
        # Serial-line driver: the receive counter is named first.
        adapter.say("sw000100")
        vitals(screen, "error warning", 100, 0)
        assert kernel_state("can0") == "ERROR-WARNING"
        adapter.say("sp096128")
        vitals(screen, "error passive", 128, 96)
        assert kernel_state("can0") == "ERROR-PASSIVE"
        screen.wait(lambda t: window(t, "PASSIVE")[0] == "!" and window(t, "WARNING") == ("!", "~"), "passive, warning past")
        adapter.say("sb000000")
        text = screen.wait_for(r"can0 .*bus off +TEC — +REC — ")
        assert kernel_state("can0") == "BUS-OFF"
        assert window(text, "BUS OFF")[0] == "!" and window(text, "NO ACK")[0] == "1", text

        subprocess.run(["ip", "link", "set", "can0", "down"], check=True)
        screen.wait_for("The interface is down")
        subprocess.run(["ip", "link", "set", "can0", "up"], check=True)
        screen.wait_for(r"can0 .*error active")
        screen.wait(lambda t: window(t, "BUS OFF")[1] == "~", "bus off is over, and still shown")
        screen.keys("a", "f", "r")
        screen.wait(lambda t: window(t, "BUS OFF") == (" ", ""), "reset")

        adapter.unplug()
        screen.wait_for("The adapter is gone")
        adapter = Adapter()
        screen.wait_for(r"can0 .*error active")
        adapter.say("t1232AABB")
        screen.wait(lambda t: "gone" not in t.splitlines()[5], "watching resumed")
    adapter.unplug()
    print("passed: from the driver to the screen")


main()
