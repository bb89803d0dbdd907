"""The converters' bus with register chips: addresses, writes, modes, reads that break off."""

import pytest

from seam.rig_parts import Driven

KINDS = ("micropython", "cpython")
# Sixteen registers that can be told apart, and a MAX6675 at 100.75 C by its bit map.
REGISTERS = bytes(range(0x10, 0x20))
SHORT = bytes.fromhex("0c99")
MAIN = """
import machine, time
pins = [machine.Pin(n, machine.Pin.OUT, value=1) for n in (17, 18)]
spi = machine.SPI(0, baudrate=1000000, polarity=0, phase=0)
def burst(pin, out):
    buf = bytearray(len(out))
    pins[pin].value(0)
    spi.write_readinto(out, buf)
    pins[pin].value(1)
    print("".join("%02x" % byte for byte in buf))
def say(pin, count):
    buf = bytearray(count)
    pins[pin].value(0)
    spi.readinto(buf)
    pins[pin].value(1)
    print("".join("%02x" % byte for byte in buf))
time.sleep_ms(100)
burst(0, bytes(19))
spi.init(baudrate=1000000, polarity=0, phase=1)
burst(0, bytes(19))
burst(0, b"\\x0a\\x00\\x00")
pins[0].value(0)
spi.write(b"\\x89\\x55\\x66\\x77\\x88")
pins[0].value(1)
burst(0, b"\\x08" + bytes(6))
say(1, 4)
buf = bytearray(2)
spi.readinto(buf)
print("%02x%02x" % (buf[0], buf[1]))
while True:
    time.sleep_ms(100)
"""


@pytest.mark.parametrize("kind", KINDS)
def test_registers_answer_by_address_in_their_mode_alone(tmp_path, kind):
    chips = {"chips": ("MAX31856", "MAX6675"), "words": (REGISTERS, SHORT)}
    with Driven(tmp_path, kind, main=MAIN, **chips) as board:
        for _ in range(4):
            board.step()
        said = (board.text + bytes(board.board.noise)).decode().split()
        edges = [edge[1:] for frame in board.frames for edge in frame.edges]
    late, whole, one, after, short, idle = said
    # Mode 0 samples every bit one clock late.
    bits = int("ff" + REGISTERS.hex() + "ffff", 16)
    assert int(late, 16) == bits >> 1 | 1 << 8 * 19 - 1
    # The byte of the address, then all registers, then what no address is.
    assert whole == "ff" + REGISTERS.hex() + "ffff"
    assert one == "ff" + REGISTERS[10:12].hex()
    # Written from 09h on; the registers behind 0Bh cannot be.
    assert after == "ff18" + "556677" + REGISTERS[12:14].hex()
    # Sixteen bits, then the pulled-up line; so is a line on which nobody is selected.
    assert (short, idle) == (SHORT.hex() + "ffff", "ffff")
    assert edges == [(64 + 9, 0x55), (64 + 10, 0x66), (64 + 11, 0x77), (128 + 1, 1)]
