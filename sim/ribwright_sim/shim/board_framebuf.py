"""Stands in for `framebuf` where the interpreter has none: what the firmware draws with, in one layout.

Letters are those of the board's interpreter, read out of it; tests/seam compares the two dot by dot.
"""

MONO_VLSB = 0
FIRST = 32
LETTERS = bytes.fromhex(
    "00000000000000000000004f4f0000000007070000070700147f7f14147f7f1400242e6b6b3a1200006333180c666300"
    "00327f4d4d777250000000040603010000001c3e63410000000041633e1c0000082a3e1c1c3e2a080008083e3e080800"
    "000080e0600000000008080808080800000000606000000000406030180c0602003e7f49457f3e000040447f7f404000"
    "00627351494f460000226349497f360000181814167f7f1000276745457d3900003e7f49497b3200000303797d070300"
    "00367f49497f360000266f49497f3e000000002424000000000080e46400000000081c36634141000014141414141400"
    "00414163361c080000020351590f0600003e7f414d4f2e00007c7e0b0b7e7c00007f7f49497f3600003e7f4141632200"
    "007f7f41633e1c00007f7f4949414100007f7f0909010100003e7f41497b3a00007f7f08087f7f000000417f7f410000"
    "002060417f3f0100007f7f1c36634100007f7f4040404000007f7f060c067f7f007f7f0e1c7f7f00003e7f41417f3e00"
    "007f7f09090f0600001e3f21617f5e00007f7f19396f460000266f49497b32000001017f7f010100003f7f40407f3f00"
    "001f3f60603f1f00007f7f3018307f7f0063771c1c77630000070f78780f0700006171594d47430000007f7f41410000"
    "0002060c18306040000041417f7f000000080c06060c0800c0c0c0c0c0c0c0c0000001030604000000207454547c7800"
    "007f7f44447c380000387c44446c280000387c44447f7f0000387c54545c580000087e7f090302000098bca4a4fc7c00"
    "007f7f04047c78000000007d7d0000000040c08080fd7d00007f7f30386c44000000417f7f400000007c7c1830187c7c"
    "007c7c04047c780000387c44447c380000fcfc24243c180000183c2424fcfc00007c7c04040c080000485c5454742000"
    "04043f7f44642000003c7c40407c3c00001c3c60603c1c00001c7c3018307c1c00446c38386c4400009cbca0a0fc7c00"
    "004464745c4c44000008083e77414100000000ffff000000004141773e0808000002030103020301"
)


class FrameBuffer:
    """A picture of one bit a dot; a byte is eight dots below each other, the lowest bit on top.

    Its calls are those of the board's own `framebuf`; stride is not looked at. Raises ValueError for a layout
    that is not MONO_VLSB.
    """

    def __init__(self, buffer, width, height, layout, stride=None):
        if layout != MONO_VLSB:
            raise ValueError("only MONO_VLSB is stood in for")
        self._buffer = buffer
        self._width = width
        self._height = height

    def pixel(self, x, y, colour):
        """Set one dot; outside, nothing happens."""
        if not (0 <= x < self._width and 0 <= y < self._height):
            return
        at, bit = (y >> 3) * self._width + x, 1 << (y & 7)
        self._buffer[at] = self._buffer[at] | bit if colour else self._buffer[at] & ~bit

    def fill_rect(self, x, y, width, height, colour):
        """Fill a rectangle."""
        for across in range(x, x + width):
            for down in range(y, y + height):
                self.pixel(across, down, colour)

    def fill(self, colour):
        """Fill all of it."""
        self.fill_rect(0, 0, self._width, self._height, colour)

    def text(self, text, x, y, colour=1):
        """Write letters of eight by eight dots; only their dots are touched."""
        for letter in text:
            code = ord(letter)
            if not FIRST <= code < 127:
                code = 127
            at = (code - FIRST) * 8
            shape = LETTERS[at : at + 8] if code < 127 else b"\x55\xaa" * 4
            for column in range(8):
                for row in range(8):
                    if shape[column] >> row & 1:
                        self.pixel(x + column, y + row, colour)
            x += 8
