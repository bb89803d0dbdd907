"""Counts what logging costs a whole flash: blocks erased, pages programmed, the worst of every act.

The first line on stdin is JSON: lib and files (folders of the modules and of all files a board carries),
blocks, header (base64), periods_s, hours and times (of long runs), older (runs that lie there before),
costs_us ([page, block] typical and maximum). On stdout one line of JSON. Runs in MicroPython only.
"""

import binascii
import json
import os
import sys

_asked = json.loads(sys.stdin.buffer.readline())
sys.path[:] = ["", _asked["lib"]]

import cut_acts  # noqa: E402 - what a board carries lies in the folder that was asked for
import cut_flash  # noqa: E402
import vfs  # noqa: E402

from ribwright_board.app import FLUSH_MS  # noqa: E402
from ribwright_board.core import record  # noqa: E402

HOUR_S = 3600
ZONES = 2
_HEADER = binascii.a2b_base64(_asked["header"])
_HOUR_BYTES = HOUR_S * record.record_size(ZONES) + len(_HEADER)


def _files(folder, below=""):
    """Path and content of every file in a folder of the computer."""
    for entry in os.ilistdir(folder + "/" + below):
        path = below + entry[0]
        if entry[1] == cut_acts.DIRECTORY:
            for deeper in _files(folder, path + "/"):
                yield deeper
        else:
            with open(folder + "/" + path, "rb") as file:
                yield path, file.read()


def _put(files):
    for path, body in files:
        parts = path.split("/")
        for n in range(1, len(parts)):
            if parts[n - 1] not in os.listdir("/".join(parts[: n - 1]) or "/"):
                os.mkdir("/".join(parts[:n]))
        with open(path, "wb") as file:
            file.write(body)


class Meter:
    """Sums what acts cost on a flash, and keeps the worst of each kind.

    flash: cut_flash.CutFlash.
    """

    def __init__(self, flash):
        self._flash = flash
        self.acts = {}

    def do(self, name, act, *arguments):
        """Do an act, a function with its arguments, under a name; its result."""
        flash = self._flash
        erases, pages = flash.erases, flash.pages
        found = act(*arguments)
        erases, pages = flash.erases - erases, flash.pages - pages
        kept = self.acts.setdefault(name, {"times": 0, "erases": 0, "pages": 0, "worst": [[0, 0], [0, 0]]})
        kept["times"] += 1
        kept["erases"] += erases
        kept["pages"] += pages
        for n, (page_us, erase_us) in enumerate(_asked["costs_us"]):
            old = kept["worst"][n]
            if erases * erase_us + pages * page_us > old[0] * erase_us + old[1] * page_us:
                kept["worst"][n] = [erases, pages]
        return found


def _open(memory):
    flash = cut_flash.CutFlash(memory)
    cut_acts.mount(flash)
    return flash, cut_acts.Store(), Meter(flash)


def _rows(first, count):
    """Records of two zones, one a second."""
    buffer = bytearray(record.record_size(ZONES))
    found = bytearray()
    for seq in range(first, first + count):
        row = [1500, 200 + seq % 1300, seq * 7 % 1000, seq * 7 % 1000, 200 + seq % 1200]
        record.pack_row(buffer, 0, seq, 1000 * seq, 3, 0, 0, [row] * ZONES)
        found.extend(buffer)
    return found


def _end(store):
    """What app.py writes at the end of a run, in one go."""
    store.close_run()
    if hasattr(store, "put_counters"):
        counted = store.counters()
        counted["runs"] = counted.get("runs", 0) + 1
        store.put_counters(counted)
    store.mark_run(0)


def _run(store, meter, seconds, period_s):
    """A run as app.py writes it; seconds that were committed before the flash was full."""
    number = meter.do("next_run", store.next_run)
    meter.do("open_run", store.open_run, number, _HEADER)
    meter.do("mark_run", store.mark_run, number)
    for at in range(0, seconds, period_s):
        try:
            meter.do("append", store.append, _rows(at, period_s))
        except OSError:
            return at
    meter.do("end_run", _end, store)
    return seconds


def _base(files):
    """A chip with the board's files on it."""
    memory = cut_flash.blank(_asked["blocks"])
    flash = cut_flash.CutFlash(memory)
    vfs.VfsLfs2.mkfs(flash, progsize=cut_flash.PAGE)
    cut_acts.mount(flash)
    _put(files)
    flash.dead = True
    return memory


def _fit(memory, period_s):
    """Bytes free beside the firmware; seconds of log in runs of an hour until the flash takes no more;
    seconds of the last one that were promised and are gone; seconds kept of the run after that.
    """
    flash, store, meter = _open(memory)
    free, seconds, done = cut_acts.free_bytes(), 0, HOUR_S
    try:
        while done == HOUR_S:
            done = _run(store, meter, HOUR_S, period_s)
            seconds += done
    except OSError:
        done = 0  # not even the head of another run
    before = bytearray(memory)
    # The board of this run still has its log open; the next one is a board after a reset.
    again_s = [_after_full(store, meter, period_s)]
    flash.dead = True
    flash, store, meter = _open(before)
    stored = store.runs()[-1][1] - len(_HEADER)
    lost_s = done - stored // record.record_size(ZONES)
    again_s.append(_after_full(store, meter, period_s))
    flash.dead = True
    return {"free_bytes": free, "log_s": seconds, "lost_s": max(0, lost_s), "again_s": again_s}


def _after_full(store, meter, period_s):
    """Seconds of the next hour that are kept once old runs have made room for it."""
    try:
        cut_acts.room(store, _HOUR_BYTES + 2 * cut_flash.BLOCK)
        return _run(store, meter, HOUR_S, period_s)
    except OSError:
        return 0


def _hour(memory, period_s):
    flash, store, meter = _open(memory)
    done = _run(store, meter, HOUR_S, period_s)
    flash.dead = True
    return {"seconds": done, "acts": meter.acts, "erases": flash.erases, "pages": flash.pages}


def _long(memory, period_s):
    """Hours of runs, the oldest ones making room for the next."""
    flash, store, meter = _open(memory)
    done = removed = 0
    for _ in range(_asked["hours"]):
        before = len(store.runs())
        meter.do("make_room", cut_acts.room, store, _HOUR_BYTES + 2 * cut_flash.BLOCK)
        removed += before - len(store.runs())
        done += _run(store, meter, HOUR_S, period_s)
    flash.dead = True
    worn = flash.worn
    half = sorted(worn)[len(worn) // 2]
    return {
        "seconds": done,
        "acts": meter.acts,
        "erases": flash.erases,
        "worst_block": max(worn),
        "at_block": list(worn).index(max(worn)),
        "median_block": half,
        "untouched_blocks": sum(1 for n in worn if n == 0),
        "removed_runs": removed,
    }


def _main():
    shipped_s = FLUSH_MS // 1000
    files = list(_files(_asked["files"]))
    bare = _base(files)
    found = {"flush_s": shipped_s, "payload_bytes": sum(len(body) for _, body in files)}
    found["fit"] = _fit(bytearray(bare), shipped_s)
    memory = bytearray(bare)
    flash, store, meter = _open(memory)
    for _ in range(_asked["older"]):
        _run(store, meter, HOUR_S, 600)
    flash.dead = True
    periods = sorted(set(_asked["periods_s"] + [shipped_s]))
    found["hours"] = {str(period_s): _hour(bytearray(memory), period_s) for period_s in periods}
    found["long"] = [_long(bytearray(memory), shipped_s) for _ in range(_asked["times"])]
    sys.stdout.write(json.dumps(found) + "\n")


_main()
