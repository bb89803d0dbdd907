"""Times what a board does from its first line to its first tick, on the files that it carries.

The first line on stdin is JSON: files (folder of everything a board carries), times (of the short ones),
plain (no collection while loading, to time the loading alone). On stdout one line of JSON, in us: boot
(boot.py and pins.py, read, compiled and run), main (main.py up to the loop: the manifest held against the
files, every module loaded), pid (one step of simple_pid); then bytes: taken (of memory by main.py), largest
(the largest piece that is free afterwards), and often (main.py collects after so many). Runs in MicroPython
only; hardware is a stand-in.
"""

import gc
import json
import os
import sys
import time

import board_machine

_asked = json.loads(sys.stdin.buffer.readline())
sys.modules["machine"] = board_machine
sys.path[:] = ["", "lib"]
os.chdir(_asked["files"])
LOOP = "run(make_board())"
OFTEN = "gc.threshold(OFTEN)"
STEPS = 200
PIECE = 512


def _main():
    with open("main.py") as file:
        text = file.read()
    for wanted, instead in ((LOOP, "pass"), (OFTEN, "pass" if _asked["plain"] else OFTEN)):
        if text.count(wanted) != 1:
            raise ValueError("main.py has no %s" % wanted)
        text = text.replace(wanted, instead)
    if _asked["plain"]:
        text = text.replace("gc.collect()", "pass")
    space = {"__name__": "__main__"}
    gc.collect()
    before = gc.mem_alloc()
    begun_us = time.ticks_us()
    exec(compile(text, "main.py", "exec"), space)
    took_us = time.ticks_diff(time.ticks_us(), begun_us)
    return took_us, gc.mem_alloc() - before, space["OFTEN"]


def _boot():
    sys.modules.pop("pins", None)
    gc.collect()
    begun_us = time.ticks_us()
    with open("boot.py") as file:
        text = file.read()
    exec(compile(text, "boot.py", "exec"), {"__name__": "__main__"})
    return time.ticks_diff(time.ticks_us(), begun_us)


def _largest():
    gc.collect()
    least, most = 0, gc.mem_free()
    while most - least > PIECE:
        size = (least + most) // 2
        try:
            bytearray(size)
            least = size
        except MemoryError:
            most = size
    return least


def _pid():
    from simple_pid import PID

    law = PID(1.0, 0.1, 0.05, setpoint=100.0, sample_time=None, output_limits=(0, 1))
    begun_us = time.ticks_us()
    for step in range(STEPS):
        law(20.0 + step * 0.1, 0.1)
    return time.ticks_diff(time.ticks_us(), begun_us) / STEPS


_main_us, _taken, _often = _main()
_piece = _largest()
_said = {
    "main": _main_us,
    "taken": _taken,
    "often": _often,
    "largest": _piece,
    "boot": min([_boot() for _ in range(_asked["times"])]),
    "pid": min([_pid() for _ in range(_asked["times"])]),
}
sys.stdout.write(json.dumps(_said) + "\n")
