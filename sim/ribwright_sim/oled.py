"""A display with an SSD1306 at the board's bus: takes what is written to it and shows it as a picture.

Commands, address window and layout of the memory as in the controller's data sheet (Solomon Systech SSD1306,
rev 1.1, sections 8.1.5 control bytes, 8.7 memory, 10.1.3 addressing; from memory). Commands that change how
the dots look are taken with their arguments and passed over.
"""

from __future__ import annotations

import struct
import zlib

WIDTH, HEIGHT, PAGES = 128, 64, 8
ADDRESS = 0x3C
# Control byte: further control bytes follow; what follows is data for the memory.
MORE, DATA = 0x80, 0x40
COLUMNS, PAGE_WINDOW, MODE, ON, SLEEP = 0x21, 0x22, 0x20, 0xAF, 0xAE
ARGUMENTS = {COLUMNS: 2, PAGE_WINDOW: 2, MODE: 1, 0x81: 1, 0x8D: 1, 0xA8: 1, 0xD3: 1, 0xD5: 1, 0xD9: 1}
ARGUMENTS |= {0xDA: 1, 0xDB: 1}
HORIZONTAL = 0


class Oled:
    """The display's memory and its address window.

    lit: the display is on. writes: pieces of data taken. bytes_taken: of everything on the bus, addresses
    included.
    """

    def __init__(self) -> None:
        """Start dark, with a memory of zeros; a real one starts with noise."""
        self.memory = bytearray(WIDTH * PAGES)
        self.lit = False
        self.writes = 0
        self.bytes_taken = 0
        self._columns = (0, WIDTH - 1)
        self._pages = (0, PAGES - 1)
        self._mode = -1
        self._column = self._page = 0
        self._command: list[int] = []

    def take(self, wires: bytes) -> None:
        """Take what the board's bus hands over.

        wires: writes one after the other, each its address, its length (a byte each) and so many bytes;
        those to another address are passed over.
        """
        at = 0
        while at < len(wires):
            address, count = wires[at], wires[at + 1]
            body = wires[at + 2 : at + 2 + count]
            at += 2 + count
            self.bytes_taken += 1 + count
            if address == ADDRESS:
                self._write(body)

    def _write(self, body: bytes) -> None:
        at = 0
        while at < len(body):
            control = body[at]
            if control & DATA:
                self._store(body[at + 1 :])
                return
            if not control & MORE:
                for value in body[at + 1 :]:
                    self._order(value)
                return
            self._order(body[at + 1])
            at += 2

    def _order(self, value: int) -> None:
        self._command.append(value)
        first, *rest = self._command
        if len(rest) < ARGUMENTS.get(first, 0):
            return
        self._command = []
        if first == COLUMNS:
            self._columns = (rest[0], rest[1])
            self._column = rest[0]
        elif first == PAGE_WINDOW:
            self._pages = (rest[0], rest[1])
            self._page = rest[0]
        elif first == MODE:
            self._mode = rest[0] & 3
        elif first in (ON, SLEEP):
            self.lit = first == ON

    def _store(self, data: bytes) -> None:
        """Fill the window row of pages by row of pages; a display nobody has set up goes on in its page."""
        self.writes += 1
        for value in data:
            self.memory[WIDTH * (self._page % PAGES) + self._column % WIDTH] = value
            self._column += 1
            if self._column > self._columns[1]:
                self._column = self._columns[0]
                if self._mode == HORIZONTAL:
                    self._page = self._page + 1 if self._page < self._pages[1] else self._pages[0]

    def rows(self) -> list[list[int]]:
        """Return the dots, 64 rows of 128, 1 for a bright one; all dark while the display is off."""
        memory = self.memory if self.lit else bytes(WIDTH * PAGES)
        return [[memory[WIDTH * (y >> 3) + x] >> (y & 7) & 1 for x in range(WIDTH)] for y in range(HEIGHT)]

    def png(self, scale: int = 6) -> bytes:
        """Return a picture of it, `scale` dots for one, with the dark gap between the dots of a real one.

        PNG after the W3C recommendation (second edition): signature, IHDR, IDAT, IEND, each with its CRC.
        """
        dark, bright, gap = 12, 235, 5
        lines = bytearray()
        for row in self.rows():
            line = bytearray()
            for dot in row:
                line += bytes((bright if dot else dark,)) * (scale - 1)
                line.append(bright // 2 if dot else gap)
            lines += (b"\0" + line) * (scale - 1) + b"\0" + bytes(value // 2 for value in line)
        head = struct.pack(">IIBBBBB", WIDTH * scale, HEIGHT * scale, 8, 0, 0, 0, 0)
        parts = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(lines), 9)), (b"IEND", b""))
        chunks = [
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
            for kind, body in parts
        ]
        return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)
