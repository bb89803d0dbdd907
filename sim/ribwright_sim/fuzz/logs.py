"""Run logs that are damaged, cut, or whole in every check and wrong in what they say.

chance: what everything is drawn from.
"""

from __future__ import annotations

import json
import struct
import zlib
from random import Random

from ribwright_board.core import record
from ribwright_board.core.modes import MODES
from ribwright_sim.modes_check.rigs import PROFILE

from . import nonsense
from .board_talk import profile_bytes

ROWS_MOST = 25
HEADER: dict[str, object] = {
    "run": 3,
    "zones": ["waist", "full"],
    "power_w": [240, 240],
    "wood_band_k": [8.0, None],
    "profile": PROFILE,
    "profile_hash": "ab41ae20ffe6",
    "started_ms": 60_000,
    "unix": 1_790_000_000,
    "board": "72696273696d0001",
    "fw": "0.1.0",
}


def head(body: bytes, magic: bytes = b"RWL2") -> bytes:
    """A log's head around any bytes, with the right length and checksum.

    body: where the header's JSON belongs, 65535 bytes at most. magic: the first four bytes, RWL1 or RWL2 by
    the layout of records.
    """
    return magic + struct.pack("<H", len(body)) + body + struct.pack("<I", zlib.crc32(body))


def _records(chance: Random, zones: int) -> bytes:
    """Rows and events whose checksums are right and whose figures may be anything."""
    found = bytearray()
    buffer = bytearray(record.record_size(zones))
    wild = chance.random() < 0.3
    for place in range(chance.randrange(ROWS_MOST)):
        if wild and chance.random() < 0.5:
            body = bytes([chance.choice((1, 2, 3))]) + chance.randbytes(len(buffer) - 5)
            found += body + struct.pack("<I", zlib.crc32(body))
            continue
        at_ms = 1000 * place
        if chance.random() < 0.2:
            text = chance.choice(("waist home", "", "\u00e9" * 20))
            record.pack_event(buffer, 0, place, at_ms, chance.randrange(1, 33), -1, 3, -4, text)
        else:
            rows = [[1500, chance.randrange(-400, 2000), 500, 400, 1200] for _ in range(zones)]
            record.pack_row(buffer, place // 9, place, at_ms, chance.randrange(len(MODES)), 0, 3, rows)
        found += buffer
    return bytes(found)


def _header(chance: Random) -> bytes:
    """A header that is wrong in one value, in the values of one list, in its profile, or altogether."""
    fate = chance.random()
    if fate < 0.2:
        return chance.choice((nonsense.mapping, nonsense.value, nonsense.nested))(chance)
    if fate < 0.5:
        return nonsense.changed(chance, HEADER)
    pairs = {key: json.dumps(value).encode() for key, value in HEADER.items()}
    if fate < 0.75:
        key = chance.choice(("zones", "power_w", "wood_band_k"))
        pairs[key] = b"[" + b", ".join(nonsense.value(chance) for _ in range(2)) + b"]"
    else:
        pairs["profile"] = profile_bytes(chance)
    return b"{" + b", ".join(b'"%s": %s' % (key.encode(), value) for key, value in pairs.items()) + b"}"


def draw(chance: Random) -> tuple[str, bytes]:
    """One log and its kind."""
    kind = chance.choice(("log_good", "log_header", "log_spoiled", "log_spoiled", "log_cut", "log_noise"))
    body = _header(chance) if kind == "log_header" else record.header_bytes(HEADER)[6:-4]
    magic = b"RWL2" if chance.random() < 0.9 else b"RWL1"
    log = bytearray(head(body[:65535], magic) + _records(chance, chance.choice((1, 2, 2, 2, 4))))
    if kind == "log_spoiled":
        for _ in range(chance.choice((1, 2, 8))):
            at = chance.randrange(len(log))
            how = chance.randrange(3)
            if how == 0:
                log[at] ^= 1 << chance.randrange(8)
            elif how == 1:
                del log[at : at + chance.randrange(40)]
            else:
                log[at:at] = chance.randbytes(chance.randrange(40))
    elif kind == "log_cut":
        del log[chance.randrange(len(log)) :]
    elif kind == "log_noise":
        log = bytearray(magic * chance.randrange(2) + chance.randbytes(chance.randrange(800)))
    return kind, bytes(log)
