"""The display: what is drawn, sent in pieces, and from how far it reads."""

import math

from board.wires import Bus
from ribwright_board.carried import ssd1306
from ribwright_board.drivers.digits import DIGITS, DOT, ROWS, SHAPES, WIDTH
from ribwright_board.drivers.display import MOST, PIECES, Display

SIDE = ("waist", "to 150", "4:05", "deg C")
FACE = ("149", "2/6 hold", "HEAT", SIDE, ("waist home", "then press next"), True)
HEIGHT_DOTS = ROWS * DOT


class Seen:
    """A display on a bus that keeps everything, and its memory as the writes make it."""

    def __init__(self):
        self.bus = Bus()
        self.display = Display(self.bus)
        self.memory = bytearray(1024)
        self.display.begin()
        self.bus.take()

    def step(self):
        """One piece; its bytes of picture."""
        self.display.step()
        window, count = [], 0
        for addr, body in self.bus.take():
            assert addr == 0x3C
            if body[0] == 0x80:
                window.append(body[1])
                continue
            # Control byte, then data: data sheet of the SSD1306, section 8.1.5 (from memory).
            assert body[0] == 0x40
            assert (window[0], window[3], len(window)) == (0x21, 0x22, 6)
            first, last, page = window[1], window[2], window[4]
            width = last - first + 1
            for at in range(len(body) - 1):
                self.memory[128 * (page + at // width) + first + at % width] = body[1 + at]
            count += len(body) - 1
        return count

    def all(self, face):
        """A whole face; the number of pieces it took."""
        self.display.take(face)
        pieces = 0
        while self.display.busy():
            assert 0 < self.step() <= MOST
            pieces += 1
        return pieces

    def dot(self, x, y):
        return self.memory[128 * (y >> 3) + x] >> (y & 7) & 1

    def columns(self, first, last, top, bottom):
        return [[self.dot(x, y) for x in range(first, last)] for y in range(top, bottom)]


def test_pieces_cover_every_dot_but_the_gaps_between_digits_once():
    seen = [0] * 1024
    for x, page, columns, pages in PIECES:
        assert columns * pages <= MOST
        for place in range(pages):
            for column in range(x, x + columns):
                seen[128 * (page + place) + column] += 1
    assert max(seen) == 1
    gaps = [at % 128 for at in range(1024) if not seen[at]]
    assert sorted(set(gaps)) == [25, 51, 77, 78, 79]


def test_whole_face_takes_eight_pieces_and_a_changed_reading_only_its_digits():
    seen = Seen()
    assert seen.all(FACE) == 8
    assert seen.all(FACE) == 0
    assert seen.all(("148",) + FACE[1:]) == 1
    assert seen.all(("151",) + FACE[1:]) == 2
    assert seen.all(("99",) + FACE[1:]) == 3
    assert seen.all(("99", "2/6 hold", "heat") + FACE[3:]) == 1
    assert seen.all(("99", "2/6 hold", "heat", ("waist", "to 150", "4:04", "deg C")) + FACE[4:]) == 2


def test_face_that_changes_while_it_is_sent_ends_as_the_last_one():
    seen, other = Seen(), Seen()
    seen.display.take(FACE)
    for _ in range(4):
        seen.step()
    last = ("87", "6/6 cool", "off", ("full", "", "+1:00", "deg C"), ("cool on the", "form"), False)
    seen.all(last)
    other.all(last)
    assert seen.memory == other.memory


def test_digits_stand_where_they_belong_and_a_short_figure_on_the_right():
    seen = Seen()
    seen.all(("7",) + FACE[1:])
    assert not any(any(row) for row in seen.columns(0, 50, 8, 44))
    shape = SHAPES[7 * ROWS : 8 * ROWS]
    for row in range(ROWS):
        for column in range(WIDTH):
            wanted = shape[row] >> (WIDTH - 1 - column) & 1
            x, y = 52 + DOT * column, 8 + DOT * row
            block = seen.columns(x, x + DOT, y, y + DOT)
            assert block == [[wanted] * DOT] * DOT


def test_what_is_asked_stands_dark_in_a_bright_field():
    seen = Seen()
    seen.all(FACE)
    asked = sum([sum(row) for row in seen.columns(0, 128, 48, 64)])
    seen.all(FACE[:5] + (False,))
    plain = sum([sum(row) for row in seen.columns(0, 128, 48, 64)])
    assert asked == 128 * 16 - plain
    assert 100 < plain < 700


def test_every_digit_differs_from_every_other_by_more_than_a_broken_row():
    shapes = [SHAPES[ROWS * at : ROWS * (at + 1)] for at in range(len(DIGITS))]
    for one in range(len(shapes)):
        for other in range(one):
            apart = [bin(x ^ y).count("1") for x, y in zip(shapes[one], shapes[other])]
            assert sum(apart) >= 4, (DIGITS[one], DIGITS[other])
            assert sum([1 for row in apart if row]) >= 2, (DIGITS[one], DIGITS[other])


def test_display_that_is_set_up_again_gets_everything_anew():
    seen = Seen()
    seen.all(FACE)
    seen.display.begin()
    assert seen.bus.take()[0] == (0x3C, bytes((0x80, 0xAE)))
    assert seen.all(FACE) == 8


def test_display_that_does_not_answer_raises_and_keeps_the_piece():
    seen = Seen()
    seen.display.take(FACE)
    seen.bus.fails = OSError(5)
    for _ in range(3):
        try:
            seen.display.step()
        except OSError:
            continue
        raise AssertionError("nothing was raised")
    seen.bus.fails = None
    assert seen.all(FACE) == 8


def arcmin(height_mm, distance_m):
    return 60.0 * math.degrees(2.0 * math.atan(height_mm / 2000.0 / distance_m))


def test_figure_reads_from_two_metres_on_the_large_display():
    # ISO 9241-303 asks for characters of 16 arc minutes at least and prefers 20 to 22 (from memory).
    # Height of the picture, 64 dots, mm (data sheets of common modules, from memory): 0.96 inch 10.86,
    # 1.54 inch 17.51, 2.42 inch 27.49.
    assert HEIGHT_DOTS == 36
    angles = [arcmin(picture_mm * HEIGHT_DOTS / 64.0, 2.0) for picture_mm in (10.86, 17.51, 27.49)]
    assert angles[2] > 22.0
    assert angles[1] > 16.0
    # The smallest does not: it reads from 1.3 m, at 16 arc minutes.
    assert angles[0] < 16.0 < arcmin(10.86 * HEIGHT_DOTS / 64.0, 1.3)
    # A worked example by hand: 6.1 mm at 1 m are 21 arc minutes, since one of them is 0.291 mm there.
    assert abs(arcmin(6.1, 1.0) - 6.1 / 0.2909) < 0.05


def test_carried_file_is_the_packages():
    if not hasattr(ssd1306, "__file__"):
        return
    import hashlib

    # SHA-256 of ssd1306.py in micropython-ssd1306 0.3 on PyPI.
    with open(ssd1306.__file__, "rb") as file:
        found = hashlib.sha256(file.read()).digest()
    assert found[:8] == b"\xfc\xda\xff\x40\x6b\x4c\x5c\xc5"
