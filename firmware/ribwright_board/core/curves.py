"""Thermocouple types by name: each but K is a module of its own, since tables take memory."""

from .sensing import K_CURVE


def curve_of(kind: str) -> "tuple[float, tuple[int, ...]]":
    """Slope of the MAX31855's line in uV/K, and the table in uV, of a type.

    kind: "K", "J", "T" or "N"; raises ValueError for another.

    >>> curve_of("J")[0]
    57.953
    """
    if kind == "K":
        return K_CURVE
    if kind == "J":
        from .type_j import LINE_UV_PER_K, TABLE_UV  # noqa: PLC0415 - a board loads its own types only
    elif kind == "T":
        from .type_t import LINE_UV_PER_K, TABLE_UV  # noqa: PLC0415 - as above
    elif kind == "N":
        from .type_n import LINE_UV_PER_K, TABLE_UV  # noqa: PLC0415 - as above
    else:
        raise ValueError("thermocouple type " + kind + ": known are K, J, T and N")
    return LINE_UV_PER_K, TABLE_UV
