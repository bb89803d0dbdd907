"""Records what acts do to a flash, then cuts the power at every operation and looks at what is left.

The first line on stdin is JSON: lib (folder of the modules a board carries), rig (text of rig.json), blocks,
acts ([name, arguments] each), plant (Python that may replace Store, or nothing), every (cut at every n-th
operation), again (cut the recovery of every n-th cut as well, 0 for none). On stdout, a line of JSON each:
the head, an entry per act, then what was seen after each cut. Runs in MicroPython only.
"""

import gc
import json
import sys

_asked = json.loads(sys.stdin.buffer.readline())
sys.path[:] = ["", _asked["lib"]]

import cut_acts  # noqa: E402 - what a board carries lies in the folder that was asked for
import cut_flash  # noqa: E402
import vfs  # noqa: E402


def _store():
    """The firmware's store, or what a test has planted in its place."""
    space = {"Store": cut_acts.Store}
    exec(_asked["plant"], space)
    return space["Store"]


def _say(thing):
    sys.stdout.write(json.dumps(thing) + "\n")


def _fresh():
    """A chip as it leaves the computer: a file system and the rig's file."""
    memory = cut_flash.blank(_asked["blocks"])
    flash = cut_flash.CutFlash(memory)
    vfs.VfsLfs2.mkfs(flash, progsize=cut_flash.PAGE)
    cut_acts.mount(flash)
    with open("rig.json", "w") as file:
        file.write(_asked["rig"])
    flash.dead = True
    return memory


def _record(memory, make):
    log = []
    player = cut_acts.Player(memory, log, make)
    for name, arguments in _asked["acts"]:
        before = len(log)
        result = player.act(name, arguments)
        _say({"before": before, "after": len(log), "result": result, "seen": cut_acts.look(player.store)})
    player.end()
    return log


def _recover(memory, make, log=None):
    """What a board says that wakes on this chip; log gets what it does to it."""
    flash = cut_flash.CutFlash(memory, log)
    try:
        cut_acts.mount(flash)
    except OSError as error:
        return {"unmounted": error.errno}
    try:
        store, seen = cut_acts.wake(make)
        # What is cut again is the waking alone.
        flash.log = None
        unusable = cut_acts.use(store)
        if unusable:
            seen["unusable"] = unusable
    except Exception as error:  # noqa: BLE001 - whatever keeps a board from booting is what is looked for
        seen = {"unbooted": repr(error)}
    seen["refused"] = flash.refused
    flash.dead = True
    return seen


class _Cutter:
    """Cuts at an operation of a log, in every way.

    make: class of the store.
    """

    def __init__(self, make):
        self._make = make
        self._work = cut_flash.blank(_asked["blocks"])

    def cut(self, at, base, operation, again, first=None):
        """Say what is left when power goes before or in the middle of an operation.

        at: its number. base: the chip before it. again: recovery is cut as well. first: what had happened
        before this board woke.
        """
        for how in ("clean",) + (cut_flash.TEARS if operation else ()):
            self._work[:] = base
            if how != "clean":
                cut_flash.tear(self._work, operation, how, at)
            left = bytes(self._work) if again else None
            log = [] if again else None
            seen = _recover(self._work, self._make, log)
            seen["cut"] = first or [at, how]
            seen["then"] = [at, how] if first else None
            _say(seen)
            if again:
                self._again(at, how, left, log)

    def _again(self, at, how, left, log):
        inner = _Cutter(self._make)
        memory = bytearray(left)
        for number in range(len(log)):
            inner.cut(number, memory, log[number], False, [at, how])
            cut_flash.apply(memory, log[number])


def _replay(memory, log, make):
    cutter = _Cutter(make)
    for at in range(len(log) + 1):
        operation = log[at] if at < len(log) else None
        if at % _asked["every"] == 0 or operation is None:
            # Every so many cuts, not operations, so that all acts have their turn.
            again = _asked["again"] and at // _asked["every"] % _asked["again"] == 0
            cutter.cut(at, memory, operation, again)
            gc.collect()
        if operation:
            cut_flash.apply(memory, operation)


_made = _store()
_chip = _fresh()
_start = bytearray(_chip)
_say({"max_profiles": cut_acts.max_profiles(), "acts": len(_asked["acts"])})
_replay(_start, _record(_chip, _made), _made)
