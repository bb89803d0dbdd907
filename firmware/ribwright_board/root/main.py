"""Runs the rig until power is cut, unless there is a reason to stay at the prompt."""

import gc
import sys

import stay

# Loading leaves much behind; collected often, it does not lie between what lasts. Bytes.
OFTEN = 8192

why = stay.reason()
del stay, sys.modules["stay"]
if why:
    print("Ribwright stays at the prompt, off: " + why)
else:
    gc.threshold(OFTEN)
    from ribwright_board.app import run
    from ribwright_board.drivers.board import make_board

    gc.collect()
    gc.threshold(-1)
    run(make_board())
