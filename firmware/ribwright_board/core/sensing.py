"""From a converter's raw bits to a reading or a named fault: never a doubtful number.

Frame layout and self-check: MAX31855 data sheet 19-5793 rev 5, tables 2 and 3. The chip reports
a straight line, for type K of 41.276 uV per K; the true curve is put back by the ITS-90 reference table. What
other converters and types need lies in modules of their own, which a board loads where its rig has them.
"""

from .units import READING_MAX_C, READING_MIN_C

# ITS-90 type K, reference junction 0 C, whole microvolts every 10 C from -50 C to 400 C
# (NIST Monograph 175, table for type K). Straight lines between the points are within 0.04 C of
# the reference function over this span.
K_TABLE_START_C = -50
K_TABLE_STEP_C = 10
K_TABLE_UV = (
    (-1889, -1527, -1156, -778, -392, 0, 397, 798, 1203, 1612, 2023, 2436)
    + (2851, 3267, 3682, 4096, 4509, 4920, 5328, 5735, 6138, 6540, 6941, 7340)
    + (7739, 8138, 8539, 8940, 9343, 9747, 10153, 10561, 10971, 11382, 11795, 12209)
    + (12624, 13040, 13457, 13874, 14293, 14713, 15133, 15554, 15975, 16397)
)
K_LINE_UV_PER_K = 41.276
# A type's straight line and table; of the others: curves.curve_of().
K_CURVE = (K_LINE_UV_PER_K, K_TABLE_UV)

# Converter boards sit in the box, not in the stack.
COLD_MIN_C = -5.0
COLD_MAX_C = 70.0


class Reading:
    """A temperature that passed every check.

    temperature_c: the junction. cold_c: the converter. at_ms: when it was read.
    """

    def __init__(self, temperature_c: float, cold_c: float, at_ms: int) -> None:
        self.temperature_c = temperature_c
        self.cold_c = cold_c
        self.at_ms = at_ms


class Missing:
    """No temperature, and why.

    code: key of errors.FAULTS. at_ms: when it was found.
    """

    def __init__(self, code: str, at_ms: int) -> None:
        self.code = code
        self.at_ms = at_ms


def _uv(table: tuple[int, ...], temperature_c: float) -> float:
    """Emf of a table's type in microvolts; linear beyond the table's ends."""
    position = (temperature_c - K_TABLE_START_C) / K_TABLE_STEP_C
    i = max(0, min(len(table) - 2, int(position)))
    return table[i] + (position - i) * (table[i + 1] - table[i])


def _temperature_c(table: tuple[int, ...], emf_uv: float) -> float:
    """Temperature of an emf in microvolts by a table's type; linear beyond the table's ends."""
    low, high = 0, len(table) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if table[middle] <= emf_uv:
            low = middle
        else:
            high = middle
    share = (emf_uv - table[low]) / (table[low + 1] - table[low])
    return K_TABLE_START_C + (low + share) * K_TABLE_STEP_C


def corrected_c(indicated_c: float, cold_c: float, curve: "tuple[float, tuple[int, ...]]" = K_CURVE) -> float:
    """Temperature from a converter's straight line.

    indicated_c: what the chip shows, C. cold_c: its cold junction, C. curve: of the type.

    The chip assumes V = s (T - Tcj); the sum of V and the curve's emf at the cold junction is looked
    up backwards (method of the ITS-90 tables; the range is chosen by that sum, never by V).

    >>> 176.9 < corrected_c(175.75, 25.0) < 177.2
    True
    """
    line_uv_per_k, table = curve
    emf_uv = line_uv_per_k * (indicated_c - cold_c) + _uv(table, cold_c)
    return _temperature_c(table, emf_uv)


def plausible(temperature_c: float, cold_c: float, at_ms: int) -> Reading | Missing:
    """Reading, or Missing where a rig and its box cannot be so hot or cold.

    temperature_c: the junction, C. cold_c: the converter, C. at_ms: when it was read.
    """
    if not COLD_MIN_C <= cold_c <= COLD_MAX_C:
        return Missing("cold_spread", at_ms)
    if not READING_MIN_C <= temperature_c <= READING_MAX_C:
        return Missing("implausible", at_ms)
    return Reading(temperature_c, cold_c, at_ms)


def max31855_fault(hi: int, lo: int) -> str:
    """The named fault in a frame, "" when it carries a temperature.

    hi, lo: first and last sixteen bits of the frame. The 32 bits stay in two halves because a
    board's small integers hold only 30.

    >>> max31855_fault(0x7FFD, 0x1901), max31855_fault(0x0190, 0x1900)
    ('open', '')
    """
    # A dead data line gives all zeros, which would pass for 0 C, or all ones.
    if (hi == 0 and lo == 0) or (hi == 0xFFFF and lo == 0xFFFF):
        return "no_chip"
    # Bits D17 and D3 always read 0, and D16 sums up D2 to D0.
    flagged = hi & 1
    causes = lo & 7
    if hi & 2 or lo & 8 or (flagged == 1) != (causes != 0):
        return "bus"
    if causes & 1:
        return "open"
    if causes & 2:
        return "short_ground"
    if causes & 4:
        return "short_supply"
    return ""


def read_max31855(
    hi: int, lo: int, at_ms: int, curve: "tuple[float, tuple[int, ...]]" = K_CURVE
) -> Reading | Missing:
    """Reading or Missing from one frame.

    hi, lo: first and last sixteen bits of the frame. at_ms: when it was read. curve: of the part's type.
    """
    fault = max31855_fault(hi, lo)
    if fault:
        return Missing(fault, at_ms)
    quarters = (hi >> 2) - (16384 if hi & 0x8000 else 0)
    sixteenths = (lo >> 4) - (4096 if lo & 0x8000 else 0)
    cold_c = sixteenths / 16.0
    return plausible(corrected_c(quarters / 4.0, cold_c, curve), cold_c, at_ms)
