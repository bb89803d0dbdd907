"""Whether files are what their hashes say, read in pieces: a profile may be more than memory has."""

import binascii
import hashlib

from .files import PIECE, size

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.shapes import BinaryIO, Callable

# Of the checksum and what closes the file behind it.
DIGITS, CLOSES = 8, 2


def profile_whole(path: str, key: str) -> bool:
    """Whether a profile's SHA-256 begins with its key.

    path: of its file. key: as hexadecimal. Raises OSError when it cannot be read.
    """
    found = hashlib.sha256()
    with open(path, "rb") as file:
        _pieces(file, size(path), found.update)
    return binascii.hexlify(found.digest()).decode().startswith(key)


def rig_whole(path: str, mark: bytes, rig_hash: str) -> bool:
    """Whether the rig's file is that of a rig and undamaged.

    path: of its file. mark: what stands before its checksum. rig_hash: of the rig. Raises OSError when it
    cannot be read.
    """
    crc = [0]

    def take(piece: "bytes | memoryview") -> None:
        crc[0] = binascii.crc32(piece, crc[0])

    with open(path, "rb") as file:
        head = b'{"hash":"' + rig_hash.encode() + b'"'
        body = size(path) - len(mark) - DIGITS - CLOSES
        if body < len(head) or file.read(len(head)) != head:
            return False
        take(head)
        _pieces(file, body - len(head), take)
        said: bytes = file.read(len(mark) + DIGITS)
    return said == mark + b"%08x" % (crc[0] & 0xFFFFFFFF)


def _pieces(file: "BinaryIO", count: int, take: "Callable[[memoryview], object]") -> None:
    piece = memoryview(bytearray(PIECE))
    while count > 0:
        got = file.readinto(piece[: min(PIECE, count)]) or 0
        if not got:
            return
        take(piece[:got])
        count -= got
