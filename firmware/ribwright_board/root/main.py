"""Runs the rig until power is cut.

Stays at the prompt, with every output off as boot.py left it, where a computer asked for that, where the stop
button is held, and where the files of this board are not all there as its manifest says.
"""

import gc
import json
import os

import machine
import pins

STAY = "stay.once"
MANIFEST = "manifest.json"
# About two thousandths of a second.
LOOKS = 200
# Loading leaves much behind; collected often, it does not lie between what lasts. Bytes.
OFTEN = 8192


def missing() -> str:
    """The first file that is not there or not of its size; "" when all are."""
    path = MANIFEST
    try:
        with open(MANIFEST) as file:
            file.readline()
            for line in file:
                if line[0] != "{":
                    # The manifest's own end: nothing is wrong.
                    return ""
                entry = json.loads(line[: line.rfind("}") + 1])
                path = str(entry["path"])
                if os.stat(path)[6] != entry["size"]:
                    return path
    except (OSError, ValueError, KeyError):
        return path
    return MANIFEST


def reason() -> str:
    """Why the rig must not run now; "" when it may."""
    try:
        os.remove(STAY)
    except OSError:
        stop = machine.Pin(pins.STOP, machine.Pin.IN, machine.Pin.PULL_UP)
        # A long wire takes a moment to come up.
        for _ in range(LOOKS):
            if stop.value():
                break
        else:
            return "the stop button is held"
        path = missing()
        return path and path + " is not as the manifest says; flash it again"
    return "a computer asked for it"


why = reason()
if why:
    print("Ribwright stays at the prompt, off: " + why)
else:
    gc.threshold(OFTEN)
    from ribwright_board.app import run
    from ribwright_board.drivers.board import make_board

    gc.collect()
    gc.threshold(-1)
    del missing, reason
    run(make_board())
