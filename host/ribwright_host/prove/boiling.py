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
# IEC 60584-1 class 2 from -40 to 333 C; converter's gain and offset, and its cold junction (data sheet
# 19-5793 of the MAX31855); its resolution. Together as the root of the sum of their squares.
ERRORS_K = (2.5, 2.0, 2.0, 0.125)
LIMIT_K = round(math.sqrt(sum(error * error for error in ERRORS_K)), 1)
LIMIT_SOURCE = "IEC 60584-1 class 2, converter's data sheet"

# Voltage at 100 and at 20 C of thermocouples by type, mV: ITS-90 tables, NIST Monograph 175 (from memory).
_MV = {
    "K": (4.096, 0.798),
    "J": (5.269, 1.019),
    "T": (4.279, 0.790),
    "E": (6.319, 1.192),
    "N": (2.774, 0.525),
}
_K_MV_PER_K = 0.0414


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


def type_offsets_k() -> dict[str, float]:
    """By type, how far off a converter for type K shows it in boiling water, the box at 20 C, K."""
    span = {name: hot - cold for name, (hot, cold) in _MV.items()}
    return {name: (mv - span["K"]) / _K_MV_PER_K for name, mv in span.items()}


def likely_type(offset_k: float) -> str:
    """The type whose wire would show nearest to that offset.

    offset_k: reading less boiling point, K.

    >>> likely_type(0.5), likely_type(24.0), likely_type(4.4)
    ('K', 'J', 'T')
    """
    offsets = type_offsets_k()
    return min(offsets, key=lambda name: abs(offsets[name] - offset_k))
