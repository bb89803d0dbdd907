"""From a MAX6675's sixteen bits to a reading or a named fault. Loaded where a rig has one.

Data sheet 19-2235 rev 3: type K only, 0.25 C, nothing below 0 C, and no word of its own temperature. It shows
V / 41 uV + Tcj, a straight line whose slope nearly is that of type K where boxes are; so the curve can be put
back with a cold junction that is merely assumed. What that leaves, with the box at 10 to 60 C and the
junction at 20 to 300 C, lies between -0.25 and +0.18 C; at 0 C it is -0.56 C.
"""

from .sensing import K_TABLE_UV, Missing, Reading, corrected_c, plausible

CURVE = (41.0, K_TABLE_UV)
COLD_C = 20.0


def max6675_fault(word: int) -> str:
    """The named fault in a frame, "" when it carries a temperature.

    word: sixteen bits. D0 is not driven: the pull-up of the line makes it 1 while the chip answers.

    >>> max6675_fault(0x0324), max6675_fault(0x0320)
    ('open', '')
    """
    if word in (0, 0xFFFF):
        return "no_chip"
    # Dummy sign and identity always read 0.
    if word & 0x8002:
        return "bus"
    if word & 4:
        return "open"
    # It stops at 0 C: what that stands for is as cold or colder, or wires the wrong way round.
    return "" if word >> 3 else "implausible"


def read_max6675(word: int, cold_c: float, at_ms: int) -> Reading | Missing:
    """Reading or Missing from one frame.

    word: sixteen bits. cold_c: what is told as the converter's temperature, C. at_ms: when it was read.
    """
    fault = max6675_fault(word)
    if fault:
        return Missing(fault, at_ms)
    return plausible(corrected_c((word >> 3) / 4.0, COLD_C, CURVE), cold_c, at_ms)
