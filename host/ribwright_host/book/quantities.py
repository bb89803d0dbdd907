"""Lengths, weights and temperatures as people write them, in and out; inside all is mm, g and C."""

import math
import re

from ribwright_board.core.units import c_from_f, in_unit, in_unit_difference
from ribwright_host.errors import UsageError

# Exact by definition: the international yard and pound agreement of 1959 (from memory).
MM_PER_INCH = 25.4
G_PER_OUNCE = 28.349523125
LENGTHS = {"": 1.0, "mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, '"': MM_PER_INCH, "inch": MM_PER_INCH}
WEIGHTS = {"": 1.0, "g": 1.0, "oz": G_PER_OUNCE}
QUANTITY = re.compile(r"\s*([-+]?(?:\d+(?:\.\d*)?|\.\d+))\s*([a-zA-Z\"]*)\s*")
NONE = "\u2013"


def _read(text: str, units: dict[str, float], what: str, least: float, most: float, unit: str) -> float:
    found = QUANTITY.fullmatch(text)
    words = ", ".join(name for name in units if name)
    if found is None or found[2].lower() not in units:
        raise UsageError(
            f"{what} {text!r} is not a number with one of the units {words}",
            f"write it like 1.7{unit} or 1.7 (taken as {unit})",
            code="quantity",
        )
    value = float(found[1]) * units[found[2].lower()]
    if not (math.isfinite(value) and least <= value <= most):
        raise UsageError(
            f"{what} is {value:g} {unit}, it may be {least:g} to {most:g} {unit}",
            "correct the number or its unit",
            code="quantity",
        )
    return value


def length_mm(text: str, what: str, least: float, most: float) -> float:
    """A length in mm, from text such as "1.7", "1.7mm" or "0.067in".

    text: as written. what: it is, for the error. least, most: what it may be, mm. Raises UsageError.

    >>> length_mm("0.067in", "the thickness", 0.3, 10)
    1.7018
    """
    return round(_read(text, LENGTHS, what, least, most, "mm"), 9)


def weight_g(text: str, what: str) -> float:
    """A weight in g, from text such as "52.4", "52.4g" or "1.85oz".

    text: as written. what: it is, for the error. Raises UsageError.
    """
    return round(_read(text, WEIGHTS, what, 0.1, 5000, "g"), 9)


def temperature_c(text: str, what: str) -> float:
    """A temperature in C, from text such as "127", "127C" or "260F".

    text: as written. what: it is, for the error. Raises UsageError.

    >>> round(temperature_c("260F", "the set"), 2)
    126.67
    """
    letter = text.strip()[-1:].upper()
    if letter == "F":
        value = _read(text.strip()[:-1], {"": 1.0}, what, -100, 800, "F")
        return c_from_f(value)
    return _read(text, {"": 1.0, "c": 1.0}, what, -50, 400, "C")


def show_mm(value_mm: float | None, lengths: str = "mm", *, signed: bool = False, decimals: int = 2) -> str:
    """A length for people.

    value_mm: mm or None. lengths: "mm" or "in". signed: with its plus, to a
    tenth. decimals: of an unsigned one in mm.

    >>> show_mm(-0.4, signed=True), show_mm(25.4, "in"), show_mm(1.7)
    ('-0.4 mm', '1.000 in', '1.70 mm')
    """
    if value_mm is None:
        return NONE
    plus = "+" if signed else ""
    value, places = (value_mm / MM_PER_INCH, 3) if lengths == "in" else (value_mm, 1 if signed else decimals)
    # Nothing is never negative.
    return f"{round(value, places) + 0.0:{plus}.{places}f} {lengths}"


def show_c(value_c: float | None, unit: str = "C", decimals: int = 0) -> str:
    """A temperature for people.

    value_c: C or None. unit: "C" or "F". decimals: how many to show.

    >>> show_c(127.0, "F"), show_c(None)
    ('261 F', '\u2013')
    """
    return NONE if value_c is None else f"{in_unit(value_c, unit):.{decimals}f} {unit}"


def show_k(value_k: float, unit: str = "C") -> str:
    """A difference of temperatures for people.

    value_k: K. unit: "C" or "F".

    >>> show_k(5.0, "F"), show_k(5.0)
    ('9.0 F', '5.0 K')
    """
    return f"{in_unit_difference(value_k, unit):.1f} {'F' if unit == 'F' else 'K'}"


def show_s(value_s: float | None) -> str:
    """A time as minutes and seconds.

    value_s: s or None.

    >>> show_s(434.2), show_s(None)
    ('7:14', '\u2013')
    """
    if value_s is None:
        return NONE
    whole = round(value_s)
    return f"{whole // 60}:{whole % 60:02d}"
