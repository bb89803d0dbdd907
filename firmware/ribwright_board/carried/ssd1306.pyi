# What the firmware uses of the carried file.

from framebuf import FrameBuffer
from machine import I2C

SET_COL_ADDR: int
SET_PAGE_ADDR: int

class SSD1306(FrameBuffer):
    width: int
    height: int
    pages: int
    buffer: bytearray
    def init_display(self) -> None: ...
    def show(self) -> None: ...

class SSD1306_I2C(SSD1306):  # noqa: N801 - the library's name
    def __init__(
        self, width: int, height: int, i2c: I2C, addr: int = 0x3C, external_vcc: bool = False
    ) -> None: ...
    def write_cmd(self, cmd: int) -> None: ...
    def write_data(self, buf: bytearray | memoryview) -> None: ...

class SSD1306_SPI(SSD1306): ...  # noqa: N801 - the library's name
