"""A small display of 128 by 64 dots with an SSD1306 or a controller that takes the same commands.

A face is drawn into the library's buffer and sent in pieces of up to 128 bytes, one in a tick: all of it at
once would take 25 ms at 400 kHz. A digit of the large figure is one piece, so none is ever shown half.
"""

from ribwright_board.carried import ssd1306
from ribwright_board.carried.ssd1306 import SET_COL_ADDR, SET_PAGE_ADDR, SSD1306_I2C

from .digits import DIGITS, DOT, ROWS, SHAPES, WIDTH

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import I2C

    from ribwright_board.core.faces import Face

# For another bus than ours: a board has better use for its memory.
del ssd1306.SSD1306_SPI

# Pieces: first column, first page of eight rows, columns, pages.
PIECES = (
    (0, 0, 128, 1),
    (0, 1, 25, 5),
    (26, 1, 25, 5),
    (52, 1, 25, 5),
    (80, 1, 24, 5),
    (104, 1, 24, 5),
    (0, 6, 128, 1),
    (0, 7, 128, 1),
)
TOP, SIDES, LOWS = 0, (4, 5), (6, 7)
MOST = 128
DIGIT_X = (0, 26, 52)
DIGIT_Y, SIDE_X = 8, 80
SIDE_Y = (10, 19, 28, 37)
LETTER = 8


class Screen(SSD1306_I2C):
    """The library's display, told only what it shows when it is time.

    i2c: its bus. Making one asks nothing of it: there may be none.
    """

    def init_display(self) -> None:
        """Nothing is sent from here; see begin()."""

    def show(self) -> None:
        """Nothing is sent at once; see piece()."""

    def begin(self) -> None:
        """Set the controller up. Raises OSError when it does not answer."""
        SSD1306_I2C.init_display(self)


class Display:
    """Draws faces.

    i2c: the bus of the display.

    busy: pieces are left to draw and send.
    """

    def __init__(self, i2c: "I2C") -> None:
        self._screen = Screen(128, 64, i2c)
        self._view = memoryview(self._screen.buffer)
        self._piece = memoryview(bytearray(MOST))
        self._face: Face | None = None
        self._due = 0

    def begin(self) -> None:
        """Set the controller up, dark; what it showed before is not known. Raises OSError."""
        self._face = None
        self._screen.begin()
        self._due = (1 << len(PIECES)) - 1

    def busy(self) -> bool:
        """Whether pieces are left to draw and send."""
        return self._due != 0

    def take(self, new: "Face") -> None:
        """Have a face shown; what it has in common with the last one is not sent again.

        new: as core.faces makes it.
        """
        old = self._face
        self._face = new
        if old is None:
            return
        due = self._due
        if new[1] != old[1] or new[2] != old[2]:
            due |= 1 << TOP
        if new[0] != old[0]:
            for at in range(3):
                if new[0][at : at + 1] != old[0][at : at + 1] or len(new[0]) != len(old[0]):
                    due |= 2 << at
        if new[3] != old[3]:
            due |= 1 << SIDES[0] | 1 << SIDES[1]
        for at in range(2):
            if new[4][at] != old[4][at] or new[5] != old[5]:
                due |= 1 << LOWS[at]
        self._due = due

    def step(self) -> None:
        """Draw and send one piece. Raises OSError when the display does not answer."""
        face = self._face
        if face is None or not self._due:
            return
        at = 0
        while not self._due >> at & 1:
            at += 1
        self._draw(at, face)
        self._send(PIECES[at])
        self._due &= ~(1 << at)

    def _draw(self, at: int, face: "Face") -> None:
        screen = self._screen
        x, page, columns, pages = PIECES[at]
        if at == SIDES[1]:
            # Drawn with the first half.
            return
        if at == SIDES[0]:
            screen.fill_rect(SIDE_X, 8, 48, 40, 0)
            for line in range(4):
                screen.text(face[3][line], SIDE_X, SIDE_Y[line])
            return
        screen.fill_rect(x, 8 * page, columns, 8 * pages, 0)
        if at == TOP:
            self._word(face[1], 0)
            self._word(face[2], 128 - LETTER * len(face[2]))
        elif at in LOWS:
            asked = face[5]
            if asked:
                screen.fill_rect(0, 8 * page, 128, LETTER, 1)
            screen.text(face[4][at - LOWS[0]], 0, 8 * page, 0 if asked else 1)
        else:
            text = face[0]
            place = at - 1 - (3 - len(text))
            if place >= 0:
                self._digit(text[place], DIGIT_X[at - 1], DIGIT_Y)

    def _word(self, text: str, x: int) -> None:
        """A word of the top line; one in capitals stands dark in a bright field."""
        loud = text.isupper()
        if loud:
            self._screen.fill_rect(max(0, x - 1), 0, LETTER * len(text) + 1, LETTER, 1)
        # Capitals leave their last row free, other letters their first one mostly not.
        self._screen.text(text, x, 1 if loud else 0, 0 if loud else 1)

    def _digit(self, letter: str, x: int, y: int) -> None:
        """One large digit, of rectangles: runs of dots in a row."""
        first = DIGITS.index(letter) * ROWS
        for row in range(ROWS):
            bits = SHAPES[first + row]
            at = 0
            while at < WIDTH:
                run = 0
                while at + run < WIDTH and bits >> (WIDTH - 1 - at - run) & 1:
                    run += 1
                if run:
                    self._screen.fill_rect(x + DOT * at, y + DOT * row, DOT * run, DOT, 1)
                at += run + 1

    def _send(self, piece: "tuple[int, int, int, int]") -> None:
        x, page, columns, pages = piece
        screen, view, body = self._screen, self._view, self._piece
        for place in range(pages):
            start = 128 * (page + place) + x
            body[columns * place : columns * (place + 1)] = view[start : start + columns]
        for command in (SET_COL_ADDR, x, x + columns - 1, SET_PAGE_ADDR, page, page + pages - 1):
            screen.write_cmd(command)
        screen.write_data(body[: columns * pages])
