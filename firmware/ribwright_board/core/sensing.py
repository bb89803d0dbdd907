"""From a converter's raw bits to a reading or a named fault: never a doubtful number.

Frame layout and self-check: MAX31855 data sheet 19-5793 rev 5, tables 2 and 3. The chip reports
a straight line of 41.276 uV per K; the true type K curve is put back by the ITS-90 reference table.
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


def _k_uv(temperature_c: float) -> float:
    """Type K emf in microvolts; linear beyond the table's ends."""
    position = (temperature_c - K_TABLE_START_C) / K_TABLE_STEP_C
    i = max(0, min(len(K_TABLE_UV) - 2, int(position)))
    return K_TABLE_UV[i] + (position - i) * (K_TABLE_UV[i + 1] - K_TABLE_UV[i])


def _k_temperature_c(emf_uv: float) -> float:
    """Temperature of a type K emf in microvolts; linear beyond the table's ends."""
    low, high = 0, len(K_TABLE_UV) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if K_TABLE_UV[middle] <= emf_uv:
            low = middle
        else:
            high = middle
    share = (emf_uv - K_TABLE_UV[low]) / (K_TABLE_UV[low + 1] - K_TABLE_UV[low])
    return K_TABLE_START_C + (low + share) * K_TABLE_STEP_C


def corrected_k_c(indicated_c: float, cold_c: float) -> float:
    """Type K temperature from the chip's straight line.

    indicated_c: what the chip shows, C. cold_c: its cold junction, C.

    The chip assumes V = s (T - Tcj); the sum of V and the curve's emf at the cold junction is looked
    up backwards (method of the ITS-90 tables; the range is chosen by that sum, never by V).

    >>> 176.9 < corrected_k_c(175.75, 25.0) < 177.2
    True
    """
    emf_uv = K_LINE_UV_PER_K * (indicated_c - cold_c) + _k_uv(cold_c)
    return _k_temperature_c(emf_uv)


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


def read_max31855(hi: int, lo: int, at_ms: int) -> Reading | Missing:
    """Reading or Missing from one frame of a type K part.

    hi, lo: first and last sixteen bits of the frame. at_ms: when it was read.
    """
    fault = max31855_fault(hi, lo)
    if fault:
        return Missing(fault, at_ms)
    quarters = (hi >> 2) - (16384 if hi & 0x8000 else 0)
    sixteenths = (lo >> 4) - (4096 if lo & 0x8000 else 0)
    cold_c = sixteenths / 16.0
    if not COLD_MIN_C <= cold_c <= COLD_MAX_C:
        return Missing("cold_spread", at_ms)
    temperature_c = corrected_k_c(quarters / 4.0, cold_c)
    if not READING_MIN_C <= temperature_c <= READING_MAX_C:
        return Missing("implausible", at_ms)
    return Reading(temperature_c, cold_c, at_ms)
