"""Boiling water as a fixed point: its temperature by air pressure or altitude; what other types show."""

import math

# IAPWS-IF97, region 4, backward equation Ts(p): the ten coefficients of its table 34 (from memory; the check
# values of its table 36 are in the tests).
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
ZERO_C_K = 273.15
# ISO 2533, standard atmosphere up to 11 km: sea level, lapse over its temperature, exponent (from memory).
SEA_LEVEL_HPA, LAPSE_PER_M, EXPONENT = 1013.25, 2.25577e-5, 5.25588
PRESSURE_HPA = (500.0, 1100.0)
ALTITUDE_M = (-400.0, 5000.0)
SOURCE = "IAPWS-IF97, region 4; ISO 2533 standard atmosphere"

# What is between a junction in boiling water and the board's figure, each at its worst, K: wire of
# IEC 60584-1 class 2 from -40 to 333 C; the converter's gain and offset, its cold junction, its resolution.
# Data sheets: 19-5793 of the MAX31855; 19-7534 of the MAX31856, gain as 0.15 % of 78.125 mV at 41 uV/K;
# 19-2235 of the MAX6675, whose cold junction nobody sees (0.3 K for what is assumed of it). Together as the
# root of the sum of their squares.
ERRORS_K = {
    "MAX31855": (2.5, 2.0, 2.0, 0.125),
    "MAX31856": (2.5, 2.9, 0.3, 0.7, 0.13),
    "MAX6675": (2.5, 2.0, 3.0, 0.3, 0.125),
}
LIMIT_SOURCE = "IEC 60584-1 class 2, converter's data sheet"

# Voltage at 100 and at 20 C of thermocouples by type, mV: ITS-90 tables, NIST Monograph 175 (from memory).
_MV = {
    "K": (4.096, 0.798),
    "J": (5.269, 1.019),
    "T": (4.279, 0.790),
    "E": (6.319, 1.192),
    "N": (2.774, 0.525),
}
# How much it rises there for each kelvin, mV; same source, rows of 95 and 105 C.
_MV_PER_K = {"K": 0.0414, "J": 0.0544, "T": 0.0468, "N": 0.0296}


def boiling_c(pressure_hpa: float) -> float:
    """Boiling point of pure water, C.

    pressure_hpa: of the air where the pot stands, not reduced to sea level.

    >>> round(boiling_c(1013.25), 2)
    99.97
    """
    beta = (pressure_hpa / 1e4) ** 0.25
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    root = math.sqrt((_N[9] + d) ** 2 - 4.0 * (_N[8] + _N[9] * d))
    return float(0.5 * (_N[9] + d - root) - ZERO_C_K)


def standard_pressure_hpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere, hPa; the day's weather moves it by some 2 %, boiling by 0.6 K.

    altitude_m: above the sea, to 11 km.
    """
    return float(SEA_LEVEL_HPA * (1.0 - LAPSE_PER_M * altitude_m) ** EXPONENT)


def limit_k(chip: str) -> float:
    """How far a zone may be off in boiling water, K.

    chip: its converter, as in the rig file.

    >>> limit_k("MAX31855")
    3.8
    """
    return round(math.sqrt(sum(error * error for error in ERRORS_K[chip])), 1)


def type_offsets_k(taken_for: str = "K") -> dict[str, float]:
    """By type of the wire, how far off it shows in boiling water, the box at 20 C, K.

    taken_for: type that the rig file states.
    """
    span = {name: hot - cold for name, (hot, cold) in _MV.items()}
    return {name: (mv - span[taken_for]) / _MV_PER_K[taken_for] for name, mv in span.items()}


def likely_type(offset_k: float, taken_for: str = "K") -> str:
    """The type whose wire would show nearest to that offset.

    offset_k: reading less boiling point, K. taken_for: type that the rig file states.

    >>> likely_type(0.5), likely_type(24.0), likely_type(4.4), likely_type(-18.0, "J")
    ('K', 'J', 'T', 'K')
    """
    offsets = type_offsets_k(taken_for)
    return min(offsets, key=lambda name: abs(offsets[name] - offset_k))
