"""Run log: a checked header, then records of one fixed size, each with its own CRC.

A file is ``RWL2``, the header's length (u16), the header (JSON), its CRC-32, then records.
Everything is little endian. A record holds 16 + 10 * zones bytes, so a reader can step over a
damaged one and go on. Times are milliseconds since the run's start. Files that begin with
``RWL1`` have no estimate of the wood and hold 16 + 8 * zones bytes; they can still be read.
"""

import binascii
import json
import struct

from .errors import CoreError
from .events import event_name
from .modes import MODES
from .units import TENTHS_MISSING

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Values

MAGICS = (b"RWL1", b"RWL2")
LAYOUT = 2
ROW = 1
EVENT = 2
TRAIL = 3
# The whole profile travels in the header: its limit on the board and what the header adds.
MAX_HEADER = 10240

_HEAD = "<BBHI"
_ROW_TAIL = "<BBH"
_ZONES = ("<hhHH", "<hhHHh")
_ZONE_BYTES = (8, 10)
_EVENT_TAIL = "<BbHii"
_TRAIL_TAIL = "<BBH"


def record_size(zones: int, layout: int = LAYOUT) -> int:
    """Bytes of one record.

    zones: number of zones, 1 to 4. layout: 1 or 2, as layout_of() gives it.

    >>> record_size(2)
    36
    """
    return 16 + _ZONE_BYTES[layout - 1] * zones


def layout_of(data: bytes) -> int:
    """Which layout the records of a run log have: 1, 2, or 0 for what does not begin like one.

    data: the beginning of a file.

    >>> layout_of(b"RWL1"), layout_of(b"RWL2 and so on"), layout_of(b"")
    (1, 2, 0)
    """
    start = bytes(data[:4])
    return MAGICS.index(start) + 1 if start in MAGICS else 0


def header_bytes(header: "Values") -> bytes:
    """The head of a run log.

    header: mapping of JSON values: board, fw, python, rig, zones, profile and so on.
    Raises CoreError with code header_size when it would be longer than MAX_HEADER bytes.
    """
    body = json.dumps(header).encode()
    if len(body) > MAX_HEADER:
        raise CoreError("header_size", "log header of %d bytes, the limit is %d" % (len(body), MAX_HEADER))
    start = MAGICS[LAYOUT - 1]
    return start + struct.pack("<H", len(body)) + body + struct.pack("<I", binascii.crc32(body) & 0xFFFFFFFF)


def read_header(data: bytes) -> "tuple[Values, int]":
    """Header and its whole length in bytes.

    data: the beginning of a run log.
    Raises CoreError: not_a_log, header_short or header_damaged.
    """
    if not layout_of(data):
        raise CoreError("not_a_log", "the file does not begin like a run log")
    if len(data) < 6:
        raise CoreError("header_short", "the log ends inside its header")
    length = struct.unpack_from("<H", data, 4)[0]
    if len(data) < 10 + length:
        raise CoreError("header_short", "the log ends inside its header")
    body = bytes(data[6 : 6 + length])
    if struct.unpack_from("<I", data, 6 + length)[0] != binascii.crc32(body) & 0xFFFFFFFF:
        raise CoreError("header_damaged", "the log's header fails its check")
    return json.loads(body), 10 + length


def _seal(buffer: bytearray) -> None:
    """Write the CRC of everything before the last four bytes into them."""
    end = len(buffer) - 4
    crc = binascii.crc32(memoryview(buffer)[:end]) & 0xFFFFFFFF
    struct.pack_into("<I", buffer, end, crc)


def pack_row(
    buffer: bytearray,
    stage: int,
    seq: int,
    at_ms: int,
    mode: int,
    flags: int,
    late_ms: int,
    zones: list[list[int]],
) -> None:
    """Write one row into a buffer of record_size() bytes.

    stage: counted from 0. seq: record number, kept modulo 65536. at_ms: ms since the run's start.
    mode: position in MODES. flags: kept for later, 0. late_ms: worst lateness since the last row.
    zones: per zone (target, measured) in tenths of a degree C, duty in permille, relay time in ms, estimated
    middle of the wood in tenths of a degree C.
    """
    struct.pack_into(_HEAD, buffer, 0, ROW, stage, seq & 0xFFFF, at_ms & 0xFFFFFFFF)
    struct.pack_into(_ROW_TAIL, buffer, 8, mode, flags, min(late_ms, 0xFFFF))
    at = 12
    for target, measured, duty, on_ms, mid in zones:
        struct.pack_into(_ZONES[LAYOUT - 1], buffer, at, target, measured, duty, min(on_ms, 0xFFFF), mid)
        at += _ZONE_BYTES[LAYOUT - 1]
    _seal(buffer)


def pack_event(
    buffer: bytearray, stage: int, seq: int, at_ms: int, code: int, zone: int, a: int, b: int, text: str
) -> None:
    """Write one event into a buffer of record_size() bytes.

    stage, seq, at_ms: as pack_row(). code: number in EVENTS. zone: position, or -1 for the rig.
    a, b: figures as event_words tells, 32 bit. text: cut to what fits (at least 0 bytes for one zone).
    """
    struct.pack_into(_HEAD, buffer, 0, EVENT, stage, seq & 0xFFFF, at_ms & 0xFFFFFFFF)
    struct.pack_into(_EVENT_TAIL, buffer, 8, code, zone, 0, a, b)
    room = len(buffer) - 24
    body = text.encode()[:room]
    for i in range(room):
        buffer[20 + i] = body[i] if i < len(body) else 0
    _seal(buffer)


def trail_room(size: int) -> int:
    """Readings that one record holds; size: of a record, bytes."""
    return (size - 16) // 2


def pack_trail(
    buffer: bytearray, stage: int, seq: int, at_ms: int, zone: int, step_ms: int, values: list[int]
) -> None:
    """Write readings that led to a trip into a buffer of record_size() bytes.

    stage, seq: as pack_row(). at_ms: of the last reading. zone: position. step_ms: between two of them.
    values: the oldest first, at most trail_room(), tenths of a degree C or TENTHS_MISSING plus a fault's
    number.
    """
    struct.pack_into(_HEAD, buffer, 0, TRAIL, stage, seq & 0xFFFF, at_ms & 0xFFFFFFFF)
    struct.pack_into(_TRAIL_TAIL, buffer, 8, zone, len(values), step_ms)
    for i in range(trail_room(len(buffer))):
        struct.pack_into("<h", buffer, 12 + 2 * i, values[i] if i < len(values) else TENTHS_MISSING)
    _seal(buffer)


class Row:
    """One row read back; zones as in pack_row(), in layout 1 without an estimate, which is then missing.

    stage, seq, at_ms, flags, late_ms: as pack_row() took them. mode: its name, of MODES.
    """

    def __init__(
        self,
        stage: int,
        seq: int,
        at_ms: int,
        mode: str,
        flags: int,
        late_ms: int,
        zones: list[tuple[int, int, int, int, int]],
    ) -> None:
        self.stage = stage
        self.seq = seq
        self.at_ms = at_ms
        self.mode = mode
        self.flags = flags
        self.late_ms = late_ms
        self.zones = zones


class Event:
    """One event read back, the code as its name.

    stage, seq, at_ms, zone, a, b: as pack_event() took them. text: what fitted, without a letter cut in half.
    """

    def __init__(
        self, stage: int, seq: int, at_ms: int, name: str, zone: int, a: int, b: int, text: str
    ) -> None:
        self.stage = stage
        self.seq = seq
        self.at_ms = at_ms
        self.name = name
        self.zone = zone
        self.a = a
        self.b = b
        self.text = text


class Trail:
    """Readings that led to a trip, read back.

    stage, seq, at_ms, zone, step_ms, values: as pack_trail() took them.
    """

    def __init__(self, stage: int, seq: int, at_ms: int, zone: int, step_ms: int, values: list[int]) -> None:
        self.stage = stage
        self.seq = seq
        self.at_ms = at_ms
        self.zone = zone
        self.step_ms = step_ms
        self.values = values


def _whole_letters(text: bytes) -> str:
    """UTF-8 text without a last letter that the fixed size cut in half."""
    for cut in range(4):
        try:
            return text[: max(0, len(text) - cut)].decode()
        except UnicodeError:
            continue
    return "".join([chr(byte) for byte in text if byte < 128])


def unpack(data: bytes, zones: int, layout: int = LAYOUT) -> Row | Event | Trail | None:
    """Row, Event or Trail in one record, None when its check fails.

    data: record_size(zones, layout) bytes. zones: number of zones. layout: 1 or 2.
    """
    size = record_size(zones, layout)
    if len(data) < size:
        return None
    body = bytes(data[: size - 4])
    if struct.unpack_from("<I", data, size - 4)[0] != binascii.crc32(body) & 0xFFFFFFFF:
        return None
    reads = {ROW: _unpack_row, EVENT: _unpack_event, TRAIL: _unpack_trail}.get(body[0])
    return None if reads is None else reads(body, zones, layout)


def _unpack_row(body: bytes, zones: int, layout: int) -> Row | None:
    _, stage, seq, at_ms = struct.unpack_from(_HEAD, body, 0)
    mode, flags, late_ms = struct.unpack_from(_ROW_TAIL, body, 8)
    if mode >= len(MODES):
        return None
    step = _ZONE_BYTES[layout - 1]
    found = [struct.unpack_from(_ZONES[layout - 1], body, 12 + step * zone) for zone in range(zones)]
    values = [(one + (TENTHS_MISSING,))[:5] for one in found]
    return Row(stage, seq, at_ms, MODES[mode], flags, late_ms, values)


def _unpack_event(body: bytes, _zones: int, _layout: int) -> Event:
    _, stage, seq, at_ms = struct.unpack_from(_HEAD, body, 0)
    code, zone, _, a, b = struct.unpack_from(_EVENT_TAIL, body, 8)
    text = body[20:]
    end = text.find(b"\x00")
    text = text if end < 0 else text[:end]
    return Event(stage, seq, at_ms, event_name(code), zone, a, b, _whole_letters(text))


def _unpack_trail(body: bytes, zones: int, _layout: int) -> Trail | None:
    _, stage, seq, at_ms = struct.unpack_from(_HEAD, body, 0)
    zone, count, step_ms = struct.unpack_from(_TRAIL_TAIL, body, 8)
    if count > trail_room(len(body) + 4) or zone >= zones:
        return None
    readings = [struct.unpack_from("<h", body, 12 + 2 * i)[0] for i in range(count)]
    return Trail(stage, seq, at_ms, zone, step_ms, readings)


def missing(value: int) -> bool:
    """Whether a stored tenth-of-a-degree value means "no value".

    value: target or measured of a row's zone.
    """
    return value == TENTHS_MISSING
