"""Reference functions of thermocouples, types K, J, T and N: voltage from temperature, and back by trial.

ITS-90, reference junction at 0 C: NIST Standard Reference Database 60 (reproducing Monograph 175), files
type_k.tab, type_j.tab, type_t.tab, type_n.tab. The firmware has tables of its own; neither is made from the
other.
"""

from __future__ import annotations

import math

K_BELOW_ZERO = (
    0.0,
    0.394501280250e-1,
    0.236223735980e-4,
    -0.328589067840e-6,
    -0.499048287770e-8,
    -0.675090591730e-10,
    -0.574103274280e-12,
    -0.310888728940e-14,
    -0.104516093650e-16,
    -0.198892668780e-19,
    -0.163226974860e-22,
)
K_ABOVE_ZERO = (
    -0.176004136860e-1,
    0.389212049750e-1,
    0.185587700320e-4,
    -0.994575928740e-7,
    0.318409457190e-9,
    -0.560728448890e-12,
    0.560750590590e-15,
    -0.320207200030e-18,
    0.971511471520e-22,
    -0.121047212750e-25,
)
K_BUMP_MV, K_BUMP_PER_C2, K_BUMP_C = 0.1185976, -0.1183432e-3, 126.9686
J_TO_760 = (
    0.0,
    0.503811878150e-1,
    0.304758369300e-4,
    -0.856810657200e-7,
    0.132281952950e-9,
    -0.170529583370e-12,
    0.209480906970e-15,
    -0.125383953360e-18,
    0.156317256970e-22,
)
J_ABOVE_760 = (
    0.296456256810e3,
    -0.149761277860e1,
    0.317871039240e-2,
    -0.318476867010e-5,
    0.157208190040e-8,
    -0.306913690560e-12,
)
T_BELOW_ZERO = (
    0.0,
    0.387481063640e-1,
    0.441944343470e-4,
    0.118443231050e-6,
    0.200329735540e-7,
    0.901380195590e-9,
    0.226511565930e-10,
    0.360711542050e-12,
    0.384939398830e-14,
    0.282135219250e-16,
    0.142515947790e-18,
    0.487686622860e-21,
    0.107955392700e-23,
    0.139450270620e-26,
    0.797951539270e-30,
)
T_ABOVE_ZERO = (
    0.0,
    0.387481063640e-1,
    0.332922278800e-4,
    0.206182434040e-6,
    -0.218822568460e-8,
    0.109968809280e-10,
    -0.308157587720e-13,
    0.454791352900e-16,
    -0.275129016730e-19,
)
N_BELOW_ZERO = (
    0.0,
    0.261591059620e-1,
    0.109574842280e-4,
    -0.938411115540e-7,
    -0.464120397590e-10,
    -0.263033577160e-11,
    -0.226534380030e-13,
    -0.760893007910e-16,
    -0.934196678350e-19,
)
N_ABOVE_ZERO = (
    0.0,
    0.259293946010e-1,
    0.157101418800e-4,
    0.438256272370e-7,
    -0.252611697940e-9,
    0.643118193390e-12,
    -0.100634715190e-14,
    0.997453389920e-18,
    -0.608632456070e-21,
    0.208492293390e-24,
    -0.306821961510e-28,
)
# By type: what is defined from and to, C, where the second polynomial takes over, and both.
_TYPES = {
    "K": (-270.0, 1372.0, 0.0, K_BELOW_ZERO, K_ABOVE_ZERO),
    "J": (-210.0, 1200.0, 760.0, J_TO_760, J_ABOVE_760),
    "T": (-270.0, 400.0, 0.0, T_BELOW_ZERO, T_ABOVE_ZERO),
    "N": (-270.0, 1300.0, 0.0, N_BELOW_ZERO, N_ABOVE_ZERO),
}
TYPES = tuple(_TYPES)


def emf_mv(kind: str, hot_c: float) -> float:
    """Return the emf of a thermocouple in mV, reference junction at 0 degrees C.

    kind: one of TYPES. hot_c: within what the type is defined for; raises ValueError outside.

    >>> round(emf_mv("K", 177.0), 6), round(emf_mv("T", 177.0), 6)
    (7.220255, 8.080901)
    """
    low_c, high_c, turn_c, below, above = _TYPES[kind]
    if not low_c <= hot_c <= high_c:
        raise ValueError(f"type {kind} is defined from {low_c:g} to {high_c:g} degrees C, got {hot_c}")
    total = 0.0
    for coefficient in reversed(below if hot_c < turn_c else above):
        total = total * hot_c + coefficient
    if kind == "K" and hot_c >= 0.0:
        total += K_BUMP_MV * math.exp(K_BUMP_PER_C2 * (hot_c - K_BUMP_C) ** 2)
    return total


def type_k_mv(hot_c: float) -> float:
    """Return the emf of a type K thermocouple in mV, reference junction at 0 degrees C.

    hot_c: -270 to 1372 degrees C; raises ValueError outside.

    >>> round(type_k_mv(177.0), 6)
    7.220255
    """
    return emf_mv("K", hot_c)


def temperature_c(kind: str, mv: float, low_c: float, high_c: float) -> float:
    """Return the temperature in degrees C between two limits at which a type gives mv, by halving.

    kind: one of TYPES. mv: reference junction at 0 C; beyond the limits the nearer one is returned.

    >>> round(temperature_c("J", 9.503, -200.0, 1200.0), 1)
    177.0
    """
    for _ in range(40):
        middle_c = 0.5 * (low_c + high_c)
        if emf_mv(kind, middle_c) < mv:
            low_c = middle_c
        else:
            high_c = middle_c
    return 0.5 * (low_c + high_c)
