"""The board's flash: a littlefs on a file where MicroPython runs, a folder where CPython stands in.

Every program and erase goes straight to the file, so the image is whole enough to mount however the process
ends.
"""

import board_clock

BLOCK = 4096
PAGE = 256
BLOCKS = 352  # a Pico's storage (micropython-on-host.md section 4)
_ERASED = b"\xff" * 512
BROKEN = -5  # littlefs hands it on as OSError 5, an error of input or output


class State:
    """What has become of the flash, as class attributes: one flash per board.

    how: "" well, "worn" takes nothing more, "torn" stops half way in its next program. free: what is done
    costs no time: it was done by another hand.
    """

    how = ""
    free = False


def _charge(operation, times):
    if not State.free:
        board_clock.charge_quietly(operation, times)


class FileFlash:
    """Block device for vfs.VfsLfs2 over a file of BLOCKS * BLOCK bytes, without allocation in its methods.

    Its calls are those of the block devices of the board's own library; an error is a number below 0. path:
    of the file, which is there.
    """

    def __init__(self, path):
        self._file = open(path, "r+b")

    def readblocks(self, block, buf, offset=0):
        """Fill buf; reading flash is as fast as memory, so no time passes."""
        self._file.seek(block * BLOCK + offset)
        self._file.readinto(buf)

    def writeblocks(self, block, buf, offset=0):
        """Program pages; outputs keep their state meanwhile."""
        if board_clock.Board.dead:
            return BROKEN
        # Where it fails, too, the board has waited for it.
        _charge(board_clock.PROGRAM, (len(buf) + PAGE - 1) // PAGE)
        if State.how == "worn":
            return BROKEN
        self._file.seek(block * BLOCK + offset)
        if State.how == "torn":
            State.how = ""
            self._file.write(memoryview(buf)[: len(buf) // 2])
            return BROKEN
        self._file.write(buf)
        return 0

    def ioctl(self, operation, argument):
        """Answer size and count, erase a block."""
        if operation == 4:
            return BLOCKS
        if operation == 5:
            return BLOCK
        if operation == 6:
            if board_clock.Board.dead:
                return BROKEN
            _charge(board_clock.ERASE, 1)
            if State.how == "worn":
                return BROKEN
            self._file.seek(argument * BLOCK)
            for _ in range(BLOCK // len(_ERASED)):
                self._file.write(_ERASED)
        return 0


def mount(path):
    """Mount the image over "/"; an erased image gets a file system, a damaged one raises OSError.

    path: of the image, on the computer.
    """
    import os

    import vfs

    device = FileFlash(path)
    vfs.umount("/")
    try:
        store = vfs.VfsLfs2(device, progsize=PAGE)
    except OSError:
        head = bytearray(PAGE)
        device.readblocks(0, head)
        if head != b"\xff" * PAGE:
            raise
        vfs.VfsLfs2.mkfs(device, progsize=PAGE)
        store = vfs.VfsLfs2(device, progsize=PAGE)
    vfs.mount(store, "/")
    os.chdir("/")


class _ChargedFile:
    """A file of the stand-in folder; a commit of new data costs an erase and its pages, as littlefs would."""

    def __init__(self, file):
        self._file = file
        self._pending = 0

    def write(self, data):
        """Write, to be committed by flush or close."""
        self._pending += len(data)
        return self._file.write(data)

    def _commit(self):
        if self._pending:
            _charge(board_clock.ERASE, 1)
            _charge(board_clock.PROGRAM, (self._pending + PAGE - 1) // PAGE)
            self._pending = 0
            if State.how:
                State.how = "" if State.how == "torn" else State.how
                raise OSError(28 if State.how == "full" else 5)

    def flush(self):
        """Commit."""
        self._commit()
        self._file.flush()

    def close(self):
        """Commit and close."""
        self._commit()
        self._file.close()

    def __getattr__(self, name):
        return getattr(self._file, name)

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        self.close()

    def __iter__(self):
        return iter(self._file)


def use_folder(path):
    """Make a folder the board's flash under CPython; files opened for writing charge their commits.

    path: of the folder, in which the process works from now on.
    """
    import builtins
    import os

    os.chdir(path)
    plain = builtins.open

    def charged_open(name, mode="r", *args, **kwargs):
        file = plain(name, mode, *args, **kwargs)
        return file if mode in ("r", "rb") else _ChargedFile(file)

    builtins.open = charged_open
    # A board's rename replaces its target on every host.
    os.rename = os.replace
    if not hasattr(os, "ilistdir"):
        os.ilistdir = lambda where=".": [
            (
                entry.name,
                0x4000 if entry.is_dir() else 0x8000,
                0,
                0 if entry.is_dir() else entry.stat().st_size,
            )
            for entry in os.scandir(where)
        ]
    os.statvfs = lambda where: (BLOCK, BLOCK, BLOCKS, BLOCKS - 60, BLOCKS - 60, 0, 0, 0, 0, 255)
