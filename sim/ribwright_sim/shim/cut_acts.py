"""What is done to the board's store in a test of its flash, through its public methods, and what is seen.

Runs in MicroPython only. A store that lacks a method yet has "absent" written down for it.
"""

import binascii
import os

import vfs
from board_flash import PAGE
from cut_flash import CutFlash

# What is loaded late on a board is loaded now: the flash that is tested has no firmware on it.
import ribwright_board.core.profile
import ribwright_board.core.rig  # noqa: F401
import ribwright_board.drivers.store as firmware
from ribwright_board.app import Loop
from ribwright_board.core.errors import CoreError

PIECE = 4096
COUNTED = "cut"
# What a board stores after a cut, to see that it can.
USED_KEY = "0123456789ab"
USED = b"0123456789abcdef" * 40
DIRECTORY = 0x4000


class Bench:
    """A board with nothing but a flash: what the loop needs to be built, asked as a board is.

    store: on the flash that is tested.
    """

    relays = ()
    sensors = ()
    feedback = None

    def __init__(self, store):
        self.store = store
        self.clock = self.panel = self

    def begin(self, service):
        """As the panel: nobody is at it, so the service hears of nothing."""

    def now_ms(self):
        """It is always the moment of the reset."""
        return 0

    def identity(self):
        """Who this board is."""
        return {"board": "bench", "fw": "0", "python": "micropython"}

    def forget(self, names):
        """No module is let go of by its names: the firmware does not lie on the flash that is tested."""


def mount(flash):
    """Mount a flash, cut_flash.CutFlash, over everything; raises OSError when it does not mount."""
    try:
        vfs.umount("/")
    except OSError:
        pass  # the last one did not mount
    vfs.mount(vfs.VfsLfs2(flash, progsize=PAGE), "/")
    os.chdir("/")


def free_bytes():
    """Bytes that are free on what is mounted."""
    found = os.statvfs("/")
    # A directory counts twice, so that a full flash has less than none, which wraps round.
    return found[1] * found[3] if found[3] <= found[2] else 0


def room(store, wanted):
    """Remove old runs until so many bytes are free: the store's own way, or by hand where it has none.

    store: on what is mounted. wanted: bytes. Returns "", or why the store refused.
    """
    if hasattr(store, "make_room"):
        try:
            store.make_room(wanted)
        except CoreError as error:
            return error.code
        return ""
    # By hand the newest stays: its file is all that remembers its number.
    for number in [run[0] for run in store.runs()[:-1]]:
        if free_bytes() >= wanted:
            break
        os.remove("runs/%05d.rlg" % number)
    return ""


def _walk(folder):
    found = []
    for entry in os.ilistdir(folder):
        path = folder + entry[0]
        if entry[1] == DIRECTORY:
            found.extend(_walk(path + "/"))
        else:
            found.append(path)
    return found


def _hash_run(store, number):
    """Bytes that can be read of a run, and their hash."""
    whole = b""
    while True:
        found = store.read_run(number, len(whole), PIECE)
        if found is None or not found[1]:
            return len(whole), store.sha256(whole)
        whole += found[1]


def look(store):
    """What the store holds: profiles by key, runs by number, counters; nothing is written for it."""
    profiles = {}
    for name in os.listdir("profiles"):
        if name.endswith(".json"):
            body = store.get_profile(name[:-5])
            profiles[name[:-5]] = None if body is None else store.sha256(body)
    runs = {}
    for run in store.runs():
        length, sha = _hash_run(store, run[0])
        runs[str(run[0])] = [run[1], length, sha, run[2] if len(run) > 2 else 0]
    seen = {"profiles": profiles, "runs": runs}
    if hasattr(store, "counters"):
        seen["counted"] = store.counters().get(COUNTED, 0)
    return seen


def wake(make):
    """The board after a reset, on what is mounted: its store and what it says; the mark counts it.

    make: class of the store.
    """
    store = make()
    left = [path for path in _walk("/") if path.endswith(".new")]
    said = []
    boot_mark = store.boot_mark

    def heard():
        said.append(boot_mark())
        return said[-1]

    store.boot_mark = heard
    Loop(Bench(store))
    seen = look(store)
    seen["new"] = left
    seen["mark"] = list(said[0])
    seen["next"] = store.next_run()
    return store, seen


def use(store):
    """Go on working with a store: what cannot be stored any more, or "" when everything is kept."""
    try:
        number = store.next_run()
        store.put_profile(USED_KEY, USED)
        store.open_run(number, USED)
        store.mark_run(number)
        store.append(USED)
        store.close_run()
        store.mark_run(0)
    except OSError as error:
        return "error %s" % error.errno
    if store.get_profile(USED_KEY) != USED:
        return "profile"
    return "" if _hash_run(store, number) == (2 * len(USED), store.sha256(USED + USED)) else "run"


class Player:
    """Plays acts on a store, on one chip that survives every reset.

    memory: the chip. log: list of its operations, or None. make: class of the store.
    """

    def __init__(self, memory, log, make):
        self.memory = memory
        self.log = log
        self.make = make
        self.flash = None
        self.store = None
        self.run = 0

    def act(self, name, arguments):
        """Do one act; its result, as JSON can say it, "absent" where the store cannot do it.

        name, arguments: of an act of flash/scenes.py.
        """
        return getattr(self, "_" + name)(*arguments)

    def end(self):
        """Nothing reaches the chip any more, whatever is still open."""
        if self.flash is not None:
            self.flash.dead = True

    def _boot(self):
        # What the last board had open is lost with it.
        self.end()
        self.flash = CutFlash(self.memory, self.log)
        mount(self.flash)
        self.store = self.make()
        return list(self.store.boot_mark())

    def _put(self, key, text):
        self.store.put_profile(key, text.encode())

    def _next(self):
        self.run = self.store.next_run()
        return self.run

    def _open(self, header):
        self.store.open_run(self.run, binascii.a2b_base64(header))
        return self.run

    def _append(self, data):
        self.store.append(binascii.a2b_base64(data))
        return self.run

    def _close(self):
        self.store.close_run()

    def _mark(self, resets):
        self.store.mark_run(self.run, resets)
        return self.run

    def _unmark(self):
        self.store.mark_run(0)

    def _room(self, wanted):
        return room(self.store, wanted)

    def _pin(self, number, pinned):
        pin = getattr(self.store, "pin_run", getattr(self.store, "pin", None))
        if pin is None:
            return "absent"
        pin(number, pinned)
        return ""

    def _count(self, number):
        if not hasattr(self.store, "put_counters"):
            return "absent"
        counted = self.store.counters()
        counted[COUNTED] = number
        self.store.put_counters(counted)
        return ""


Store = firmware.Store


def max_profiles():
    """How many profiles a board keeps."""
    return firmware.MAX_PROFILES
