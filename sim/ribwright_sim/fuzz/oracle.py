"""What a stream of bytes asks for, read by other means than the code under test.

Written from the description of a line on top of core/wire.py: five words, the last a CRC-32 of all before.
"""

from __future__ import annotations

import json
import re
import zlib
from dataclasses import dataclass
from typing import Any

# The longest line, and the largest profile that a board takes.
LINE_BYTES = 512
PROFILE_BYTES = 8192
_LINE = re.compile(rb"(ask|ans|tell) ([0-9]{1,5}) ([^ ]*) (.*) ([0-9a-f]{8})", re.DOTALL)


@dataclass(frozen=True)
class Heard:
    """One line that checks: kind, sequence number, verb and values."""

    kind: str
    seq: int
    verb: str
    data: dict[str, Any]


def heard(line: bytes) -> Heard | None:
    """The message in a line, None for any other line.

    line: with or without its line feed.
    """
    line = line.rstrip(b"\r\n")
    found = _LINE.fullmatch(line)
    if found is None or zlib.crc32(line[:-9]) != int(found[5], 16) or int(found[2]) > 65535:
        return None
    try:
        verb, data = found[3].decode(), json.loads(found[4].decode())
    except (ValueError, RecursionError):
        return None
    return Heard(found[1].decode(), int(found[2]), verb, data) if isinstance(data, dict) else None


class Ear:
    """Cuts a stream into lines; longer ones than LINE_BYTES are none."""

    def __init__(self) -> None:
        self._part = b""

    def take(self, data: bytes) -> list[bytes]:
        """Lines completed by these bytes, without their line feeds.

        data: the next piece of the stream, of any length.
        """
        *whole, part = (self._part + data).split(b"\n")
        # One byte too many is remembered as well as a thousand.
        self._part = part[: LINE_BYTES + 1]
        return [line for line in whole if 0 < len(line) <= LINE_BYTES]
