"""Set-up of a MAX31856, and from its sixteen registers to a reading or a named fault.

Loaded where a rig has one. Data sheet 19-7534 rev 0. The chip puts the type's curve right by itself (K within
0.13 C, J 0.11, N 0.09, T 0.07). Left alone it converts nothing, looks for no open circuit and shows 0 C for
ever: all it was told is read back with every reading.
"""

from .sensing import Missing, Reading, plausible

# CR1 has the type in its low half: one conversion is one sample.
TYPES = {"J": 2, "K": 3, "N": 4, "T": 7}
CONVERTS = 0x80  # CR0: automatic conversion
OPEN_TEST = 0x10  # CR0: open-circuit test for leads of less than 5 kohm
FIFTY_HERTZ = 0x01  # CR0: mains filter
MASKED = 0x3F  # MASK: the bits that count
# CJHF to CJTO as after power-on: no limit can be reached, no offset.
LIMITS = b"\x7f\xc0\x7f\xff\x80\x00\x00"
# What SR says, in the order in which it counts: while an input is beyond the supply, conversions and all
# other tests stand still.
STATUS = ((0x02, "overvoltage"), (0x01, "open"), (0xB0, "cold_spread"), (0x4C, "implausible"))
SET_UP_SIZE = 11
FRAME_SIZE = 17


def set_up_of(kind: str, hertz: int) -> bytes:
    r"""What is written first: the address of CR0 for writing and ten registers, conversions still off.

    kind: "K", "J", "T" or "N". hertz: of the mains, 50 or 60.

    >>> set_up_of("K", 50)[:4]
    b'\x80\x11\x03\x00'
    """
    filtered = FIFTY_HERTZ if hertz == 50 else 0
    return bytes((0x80, OPEN_TEST | filtered, TYPES[kind], 0)) + LIMITS


def max31856_fault(frame: "bytes | bytearray", set_up: bytes) -> str:
    """The named fault in a frame, "" when it carries a temperature.

    frame: a byte that came with the address, and the sixteen registers. set_up: as set_up_of() gives it.
    """
    some, every = 0, 0xFF
    for i in range(1, FRAME_SIZE):
        some |= frame[i]
        every &= frame[i]
    if some == 0 or every == 0xFF:
        return "no_chip"
    if not _knows(frame, set_up):
        # After a loss of supply every register is as at power-on; anything else was read or written wrongly.
        return "setup_lost" if frame[1] == 0 and frame[3] == 0xFF else "bus"
    # The cold junction's two lowest bits always read 0.
    if frame[12] & 3:
        return "bus"
    for bits, code in STATUS:
        if frame[16] & bits:
            return code
    return ""


def _knows(frame: "bytes | bytearray", set_up: bytes) -> bool:
    """Whether the chip still holds what it was told, and converts."""
    for i in range(4, SET_UP_SIZE):
        if frame[i] != set_up[i]:
            return False
    return frame[1] == set_up[1] | CONVERTS and frame[2] == set_up[2] and frame[3] & MASKED == 0


def read_max31856(frame: "bytes | bytearray", set_up: bytes, at_ms: int) -> Reading | Missing:
    """Reading or Missing from one frame.

    frame, set_up: as max31856_fault(). at_ms: when it was read.
    """
    fault = max31856_fault(frame, set_up)
    if fault:
        return Missing(fault, at_ms)
    cold = (frame[11] << 8 | frame[12]) - (0x10000 if frame[11] & 0x80 else 0)
    # Nineteen bits: the five lowest do not count.
    hot = ((frame[13] << 16 | frame[14] << 8 | frame[15]) >> 5) - (0x80000 if frame[13] & 0x80 else 0)
    return plausible(hot / 128.0, cold / 256.0, at_ms)
