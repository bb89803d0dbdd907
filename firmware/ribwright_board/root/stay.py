"""Why a board must stay at its prompt, with every output off as boot.py left it.

A computer asked for it, once; the stop button is held; or the files of this board are not all there as its
manifest says. Forgotten once it is answered: memory is scarce.
"""

import json
import os

import machine
import pins

STAY = "stay.once"
MANIFEST = "manifest.json"
# About two thousandths of a second.
LOOKS = 200


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
