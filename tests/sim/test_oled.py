"""The display of the virtual rig: what its controller does with what is written, and its picture."""

import io

import pytest
from matplotlib.image import imread

from ribwright_sim.interpreter import SHIM
from ribwright_sim.oled import Oled


def write(*body, address=0x3C):
    return bytes((address, len(body), *body))


def order(*values):
    return b"".join(write(0x80, value) for value in values)


def lit(**settings):
    oled = Oled()
    oled.take(order(0x20, settings.get("mode", 0), 0xAF))
    return oled


# Data sheet of the SSD1306 (Solomon Systech, rev 1.1), from memory: horizontal addressing fills the window
# column by column and then page by page, and begins anew; a byte is eight dots, the lowest bit on top.
def test_window_is_filled_row_of_pages_by_row_of_pages():
    oled = lit()
    oled.take(order(0x21, 10, 11, 0x22, 2, 3) + write(0x40, 0x01, 0x80, 0xFF, 0x00, 0x03))
    rows = oled.rows()
    bright = {(x, y) for y in range(64) for x in range(128) if rows[y][x]}
    assert bright == {(10, 16), (10, 17), (11, 23), *((10, y) for y in range(24, 32))}


def test_commands_may_come_together_or_one_by_one_and_others_are_passed_over():
    oled = lit()
    oled.take(write(0x00, 0x21, 5, 6, 0x22, 0, 0) + order(0x81, 0xFF, 0xD5, 0x21) + write(0x40, 0x01))
    assert oled.rows()[0][5] == 1
    oled.take(write(0x40, 0xFF, address=0x3D))
    assert sum(map(sum, oled.rows())) == 1


def test_display_that_is_off_shows_nothing():
    oled = Oled()
    oled.take(order(0x20, 0) + write(0x40, 0xFF))
    assert sum(map(sum, oled.rows())) == 0
    oled.take(order(0xAF))
    assert sum(map(sum, oled.rows())) == 8


def test_picture_is_one_that_others_read():
    oled = lit()
    oled.take(order(0x21, 127, 127, 0x22, 7, 7) + write(0x40, 0x80))
    picture = imread(io.BytesIO(oled.png(4)), format="png")
    assert picture.shape == (256, 512)
    bright = picture > 0.5
    assert bright.sum() == 9
    assert bright[252:255, 508:511].all()


def test_letters_of_the_stand_in_are_those_of_the_boards_interpreter(run_micropython):
    code = """
import framebuf, sys
sys.path.insert(0, %r)
import board_framebuf
for text, x, y, colour in ((b, x, y, c) for b in %r for x, y in ((0, 0), (3, 5), (120, 60)) for c in (1, 0)):
    found = []
    for module in (framebuf, board_framebuf):
        body = bytearray(1024)
        picture = module.FrameBuffer(body, 128, 64, module.MONO_VLSB)
        picture.fill(1 - colour)
        picture.fill_rect(40, 13, 21, 3, colour)
        picture.fill_rect(126, 62, 9, 9, colour)
        picture.text(text, x, y, colour)
        found.append(bytes(body))
    print(found[0] == found[1])
"""
    letters = "".join(map(chr, range(32, 127)))
    said = run_micropython(code % (str(SHIM), [letters[at : at + 12] for at in range(0, 95, 12)]))
    assert said.split() == ["True"] * 48


@pytest.mark.parametrize("kind", ["micropython", "cpython"])
def test_both_interpreters_draw_the_same_picture(kind, tmp_path):
    from sim.panel_rig import Rig

    with Rig(tmp_path, kind) as rig:
        rig.run(8.0)
        picture = bytes(rig.loop.oled.memory)
        rig.order(knob=1)
        rig.run(2.0)
        assert rig.loop.oled.memory != picture
        # What both have shown is kept, so that the second one can be compared.
        known = tmp_path.parent / "known_picture"
        if known.exists():
            assert known.read_bytes() == picture
        known.write_bytes(picture)
