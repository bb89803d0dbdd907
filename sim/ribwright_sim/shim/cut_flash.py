"""A flash of NOR memory that logs every page programmed and block erased, and can be torn in the middle.

NOR bits are programmed from 1 to 0 and go back only when their block is erased (data sheets of serial NOR
parts). Runs in MicroPython only.
"""

from array import array

BLOCK = 4096
PAGE = 256
_CLEAN_PAGE = b"\xff" * PAGE
_CLEAN_BLOCK = b"\xff" * BLOCK
# How the operation under way can be left behind. A page: its first half; its first quarter and then bits
# that did or did not get there; all but its first bytes, by which a reader tells whether anything is there. A
# block: its first half; bits everywhere; its last half.
LATE = 8
TEARS = ("half", "junk", "late")
NO_SUCH_THING = -5


def blank(blocks):
    """Memory of an erased chip.

    blocks: of BLOCK bytes.
    """
    return bytearray(_CLEAN_BLOCK * blocks)


class CutFlash:
    """Block device for vfs.VfsLfs2 on memory that outlives it; its calls are those of the board's library.

    memory: bytearray of whole blocks. log: list that gets (address, bytes) for a page and (address, None) for
    a block; None keeps none. A page that is not erased is refused, where a chip would quietly clear more
    bits.
    """

    def __init__(self, memory, log=None):
        self.dead = False
        self.refused = 0
        self.pages = 0
        self.erases = 0
        self.worn = array("I", [0] * (len(memory) // BLOCK))
        self._memory = memory
        self._view = memoryview(memory)
        self.log = log

    def readblocks(self, block, buf, offset=0):
        """Fill buf. A dead board answers nothing, and allocates nothing: a finaliser may be asking."""
        if self.dead:
            return NO_SUCH_THING
        at = block * BLOCK + offset
        buf[:] = self._view[at : at + len(buf)]
        return 0

    def writeblocks(self, block, buf, offset=0):
        """Program page after page."""
        if self.dead:
            return NO_SUCH_THING
        start = block * BLOCK + offset
        for at in range(0, len(buf), PAGE):
            piece = bytes(buf[at : at + PAGE])
            if self._view[start + at : start + at + PAGE] != _CLEAN_PAGE:
                self.refused += 1
                return NO_SUCH_THING
            if self.log is not None:
                self.log.append((start + at, piece))
            self.pages += 1
            program(self._memory, start + at, piece)
        return 0

    def ioctl(self, operation, argument):
        """Answer count and size, erase a block."""
        if operation == 4:
            return len(self._memory) // BLOCK
        if operation == 5:
            return BLOCK
        if operation == 6:
            if self.dead:
                return NO_SUCH_THING
            if self.log is not None:
                self.log.append((argument * BLOCK, None))
            self.erases += 1
            self.worn[argument] += 1
            self._view[argument * BLOCK : (argument + 1) * BLOCK] = _CLEAN_BLOCK
        return 0


def program(memory, at, piece):
    """Clear the bits of a piece; none comes back.

    memory: of the chip, changed in place. at: address of the first byte. piece: bytes, at most a page.
    """
    if memory[at : at + len(piece)] == _CLEAN_PAGE[: len(piece)]:
        memory[at : at + len(piece)] = piece
        return
    for n in range(len(piece)):
        memory[at + n] &= piece[n]


def apply(memory, operation):
    """Do a logged operation in full.

    memory: of the chip, changed in place. operation: (address, bytes) of a page, (address, None) of a block.
    """
    at, piece = operation
    if piece is None:
        memory[at : at + BLOCK] = _CLEAN_BLOCK
    else:
        program(memory, at, piece)


class _Noise:
    """Bytes that are the same every time, from a linear congruential generator."""

    def __init__(self, seed):
        # Multiplier and increment as in Numerical Recipes, from memory; any noise will do.
        self._state = (seed * 2654435761 + 12345) & 0xFFFFFFFF

    def byte(self):
        """The next one."""
        self._state = (self._state * 1664525 + 1013904223) & 0xFFFFFFFF
        return self._state >> 24


def tear(memory, operation, how, seed):
    """Leave an operation behind as a cut of power would.

    memory, operation: as apply(). how: one of TEARS. seed: of the bits that are anybody's guess.
    """
    at, piece = operation
    noise = _Noise(seed)
    if piece is None:
        if how == "junk":
            for n in range(at, at + BLOCK):
                memory[n] |= noise.byte()
        else:
            begin = at if how == "half" else at + BLOCK // 2
            memory[begin : begin + BLOCK // 2] = _CLEAN_BLOCK[: BLOCK // 2]
        return
    if how == "half":
        program(memory, at, piece[: PAGE // 2])
    elif how == "late":
        program(memory, at + LATE, piece[LATE:])
    else:
        for n in range(len(piece)):
            memory[at + n] &= piece[n] if n < PAGE // 4 else piece[n] | noise.byte()
