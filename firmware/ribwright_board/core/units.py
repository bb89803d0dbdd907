"""Conversions and the physical limits of the firmware, each defined once.

Everything inside the firmware is in degrees Celsius, kelvin (differences), seconds or
integer milliseconds. A file states its unit and is converted here, at the edge.
"""

# Hardest limit of the product: no zone may be asked for, or stay, above it. A rig file may
# lower it, nothing can raise it. It sits above the hottest common bend (about 177 C; common
# practice, no source) and below the 230 C continuous limit of silicone rubber (two material
# data pages); the independent cut-off of each blanket belongs between the two.
FIRMWARE_CEILING_C = 200.0

# A target leaves room under the ceiling for overshoot and sensor error.
TARGET_MARGIN_K = 10.0
TARGET_MIN_C = 40.0
TARGET_MAX_C = FIRMWARE_CEILING_C - TARGET_MARGIN_K

# A cool stage must be able to end in a warm shop, and wood below this is safe to touch.
COOL_MIN_C = 35.0
COOL_MAX_C = 90.0

# Readings outside this span are not temperatures of this rig.
READING_MIN_C = -20.0
READING_MAX_C = 350.0

TENTHS_MISSING = -32768

UNITS = ("C", "F")


def c_from_f(temperature_f: float) -> float:
    """Celsius from Fahrenheit.

    temperature_f: a point on the Fahrenheit scale, F.

    >>> c_from_f(212.0)
    100.0
    """
    return (temperature_f - 32.0) / 1.8


def f_from_c(temperature_c: float) -> float:
    """Fahrenheit from Celsius.

    temperature_c: a point on the Celsius scale, C.

    >>> f_from_c(100.0)
    212.0
    """
    return temperature_c * 1.8 + 32.0


def c_from(value: float, unit: str) -> float:
    """Celsius from a point in the unit of a file.

    value: a point on the scale of unit.
    unit: "C" or "F".

    >>> c_from(350.0, "F") > 176.6
    True
    """
    return c_from_f(value) if unit == "F" else value + 0.0


def in_unit(temperature_c: float, unit: str) -> float:
    """A point in the unit of a file, from Celsius.

    temperature_c: a point on the Celsius scale, C.
    unit: "C" or "F".

    >>> in_unit(100.0, "F")
    212.0
    """
    return f_from_c(temperature_c) if unit == "F" else temperature_c


def k_from(difference: float, unit: str) -> float:
    """Kelvin from a difference of temperatures in the unit of a file.

    difference: a difference on the scale of unit.
    unit: "C" or "F".

    >>> k_from(9.0, "F")
    5.0
    """
    return difference / 1.8 if unit == "F" else difference + 0.0


def in_unit_difference(difference_k: float, unit: str) -> float:
    """A difference in the unit of a file, from kelvin.

    difference_k: a difference of temperatures, K.
    unit: "C" or "F".

    >>> in_unit_difference(5.0, "F")
    9.0
    """
    return difference_k * 1.8 if unit == "F" else difference_k


def tenths(temperature_c: float | None) -> int:
    """Integer tenths of a degree, or the mark for a missing value.

    temperature_c: a point on the Celsius scale, C, or None when there is no value.

    Halves go away from zero in both interpreters (no text formatting is involved).

    >>> tenths(150.25), tenths(None)
    (1503, -32768)
    """
    if temperature_c is None:
        return TENTHS_MISSING
    scaled = temperature_c * 10.0
    value = int(scaled + 0.5) if scaled >= 0 else -int(0.5 - scaled)
    return max(-32767, min(32767, value))


def number_text(value: float) -> str:
    """A number for people: no exponent, at most two decimals, no trailing zeros.

    value: any finite number.

    >>> number_text(392.0), number_text(1.75)
    ('392', '1.75')
    """
    text = "%.2f" % value
    while text.endswith("0"):
        text = text[:-1]
    return text[:-1] if text.endswith(".") else text
