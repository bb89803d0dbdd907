"""Wood: density, conductivity, heat capacity, equilibrium moisture, softening.

Moisture is always in % of ovendry mass.  "Wood Handbook" is USDA FPL-GTR-190 (2010), chapter 4.
The laws a solver steps are arithmetic and numpy ufuncs alone, on floats or float arrays, as in effects.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from .effects import KELVIN, Real, latent_heat_j_kg, vapour_drive
from .materials import StackError, read_table

FIBRE_SATURATION_PERCENT = 30.0
# The conductivity equation is stated for less than this; wetter wood keeps the value it has there.
CONDUCTIVITY_LIMIT_PERCENT = 25.0
# What the boards accept as a piece's moisture; above fibre saturation the rest is free water.
MOISTURE_LIMIT_PERCENT = 40.0
# Specific heat of liquid water, middle of 20-100 C (CoolProp 8.0.0: 4184 at 20, 4216 at 100; computed).
WATER_J_KG_K = 4190.0
WATER_KG_PER_MOL = 0.018015
GAS_J_PER_MOL_K = 8.314462618


@dataclass(frozen=True, slots=True)
class Species:
    """A wood: basic specific gravity (ovendry mass over green volume) with range and source."""

    name: str
    botanical: str
    basic_gravity: float
    low: float
    high: float
    source: str


@cache
def all_species() -> tuple[Species, ...]:
    """Every row of species.csv."""
    return tuple(
        Species(
            line["name"],
            line["botanical"],
            float(line["basic_gravity"]),
            float(line["low"]),
            float(line["high"]),
            line["source"],
        )
        for line in read_table("species.csv")
    )


def species(name: str) -> Species:
    """The species called `name`, capitals ignored; raises StackError when it is not in species.csv."""
    for one in all_species():
        if one.name.lower() == name.strip().lower():
            return one
    known = ", ".join(one.name for one in all_species())
    raise StackError(
        "unknown",
        "piece.species",
        repr(name),
        f"known: {known}",
        "",
        "use a known species of similar weight, or add its row with a source to species.csv",
    )


def gravity_at(basic_gravity: Real, moisture_percent: Real) -> Real:
    """Specific gravity on the volume at `moisture_percent`, from the basic (green-volume) one.

    Wood Handbook Eqs. 4-7, 4-10, 4-11 in closed form (4-7 from memory; shrinkage stops at 30 %).

    Args:
        basic_gravity: ovendry mass over green volume [1].
        moisture_percent: 0 or above [%].

    >>> round(float(gravity_at(0.55, 12.0)), 4)
    0.6027
    """
    missing = (FIBRE_SATURATION_PERCENT - moisture_percent) / FIBRE_SATURATION_PERCENT
    return basic_gravity / (1.0 - 0.265 * np.minimum(1.0, np.maximum(0.0, missing)) * basic_gravity)


def density_kg_m3(basic_gravity: Real, moisture_percent: Real) -> Real:
    """Density with its water [kg/m3]; Wood Handbook Eq. 4-12.

    Args:
        basic_gravity: ovendry mass over green volume [1].
        moisture_percent: 0 or above [%].

    >>> round(float(density_kg_m3(0.55, 12.0)), 1)
    675.0
    """
    return 1000.0 * gravity_at(basic_gravity, moisture_percent) * (1.0 + moisture_percent / 100.0)


def conductivity_w_m_k(
    gravity: Real, moisture_percent: Real, at_c: Real = 24.0, rise_per_10k: Real = 0.025
) -> Real:
    """Conductivity across the grain [W/(m K)].

    Wood Handbook Eq. 4-15 (gravity above 0.3, moisture below 25 %, held above; spread up to 20 %) times
    the 2-3 % rise per 10 C of p. 4-11, counted from 24 C; past about 100 C that is an extrapolation.

    >>> round(float(conductivity_w_m_k(0.66, 12.0)), 4)
    0.1789
    """
    moisture = np.minimum(moisture_percent, CONDUCTIVITY_LIMIT_PERCENT)
    base = gravity * (0.1941 + 0.004064 * moisture) + 0.01864
    return base * (1.0 + rise_per_10k / 10.0 * (at_c - 24.0))


def wood_conductivity_w_m_k(
    basic_gravity: Real, factor: Real, rise_per_10k: Real, bound_percent: Real, at_c: Real
) -> Real:
    """Conductivity of a strip's cell [W/(m K)]: `conductivity_w_m_k` at its own gravity and moisture.

    Args:
        basic_gravity: ovendry mass over green volume [1].
        factor: this strip over the Handbook's mean wood [1], spread 0.8-1.2.
        rise_per_10k: share gained per 10 K [1/(10 K)].
        bound_percent: bound water [%].
        at_c: temperature [C].
    """
    gravity = gravity_at(basic_gravity, bound_percent)
    return factor * conductivity_w_m_k(gravity, bound_percent, at_c, rise_per_10k)


def heat_capacity_j_kg_k(moisture_percent: Real, at_c: Real) -> Real:
    """Heat capacity per kg of moist wood [J/(kg K)], below fibre saturation.

    Wood Handbook Eqs. 4-16a, 4-17, 4-18; stated range about 7-147 C (range from memory).

    >>> round(float(heat_capacity_j_kg_k(12.0, 66.85)), 1)
    1914.6
    """
    constant, slope = heat_terms_j_kg_k(moisture_percent, 0.0)
    return (constant + slope * (at_c + KELVIN)) / (1.0 + moisture_percent / 100.0)


def heat_terms_j_kg_k(bound_percent: Real, free_percent: Real) -> tuple[Real, Real]:
    """`(a, b)` of heat capacity per kg of DRY wood, a + b T [J/(kg K)] with T in K.

    The same equations as `heat_capacity_j_kg_k`; being linear in T they give the heat content in
    closed form, which is what the energy balance is checked against.  Free water adds its own heat
    capacity as a plain mixture (Simpson and TenWolde 1999, seen secondary).
    """
    x = bound_percent
    wet = 1.0 + x / 100.0
    constant = 103.1 + 41.8 * x + wet * x * 1000.0 * (-0.06191 - 1.33e-4 * x)
    return constant + 0.01 * WATER_J_KG_K * free_percent, 3.867 + wet * x * 0.236


def heat_content_j_kg(bound_percent: Real, free_percent: Real, at_c: Real) -> Real:
    """Heat content above 0 C per kg of dry wood, its water included [J/kg]."""
    constant, slope = heat_terms_j_kg_k(bound_percent, free_percent)
    return at_c * (constant + slope * (KELVIN + 0.5 * at_c))


def sorption_heat_j_kg(moisture_percent: Real) -> Real:
    """Heat that binds water to wood beyond its latent heat [J/kg of water].

    1170 exp(-0.14 M) kJ/kg, Siau 1995 (from memory, unverified).
    """
    return 1.17e6 * np.exp(-0.14 * moisture_percent)


def vapour_heat_j_kg(at_c: Real, bound_percent: Real) -> tuple[Real, Real]:
    """Heat one kg of `(bound, free)` water takes when it leaves [J/kg]: latent, for bound with sorption."""
    latent = latent_heat_j_kg(at_c)
    return latent + sorption_heat_j_kg(bound_percent), latent


def equilibrium_percent(at_c: Real, humidity: Real) -> Real:
    """Equilibrium moisture [%] in air of relative `humidity` 0-1, Wood Handbook Eq. 4-5.

    Not for use above about 120 C, where one coefficient changes sign.

    >>> round(float(equilibrium_percent(21.1, 0.5)), 2)
    9.24
    """
    t = at_c
    w = 349.0 + 1.29 * t + 0.0135 * t * t
    kh = (0.805 + 0.000736 * t - 0.00000273 * t * t) * humidity
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    one, two = k1 * kh, k1 * k2 * kh * kh
    return 1800.0 / w * (kh / (1.0 - kh) + (one + 2.0 * two) / (1.0 + one + two))


def steam_bridge_percent(at_c: float) -> float:
    """Equilibrium moisture [%] in steam at one atmosphere, `at_c` 100 to about 260 C.

    PROPOSAL, unverified bridge: the 90 C isotherm of `equilibrium_percent` shifted with
    `sorption_heat_j_kg`, humidity capped at 1.  Nothing published covers 150 C and 1 atm.  Solvers use
    `drying.steam_equilibrium_percent`, a curve drawn through this.
    """
    humidity = np.linspace(0.0005, 1.0, 2000)
    moisture = equilibrium_percent(90.0, humidity)
    shift = sorption_heat_j_kg(moisture) * WATER_KG_PER_MOL / GAS_J_PER_MOL_K
    there = humidity * np.exp(shift * (1.0 / 363.15 - 1.0 / (at_c + KELVIN)))
    wanted = min(1.0, 1.0 / float(vapour_drive(at_c)))
    return float(np.interp(wanted, np.append(0.0, there), np.append(0.0, moisture)))


def softening_c(moisture_percent: Real) -> Real:
    """Softening temperature of a hardwood's matrix [C] at `moisture_percent` (0-30 %).

    PROPOSAL: Gordon-Taylor between 170 C dry (Wood Handbook p. 19-1) and 60 C at 30 %
    (Hamdan et al. 2000); the transition is broad, at least 20 C either way.

    >>> round(float(softening_c(12.0)), 1)
    114.0
    """
    w = moisture_percent / (100.0 + moisture_percent)
    return ((1.0 - w) * 443.15 + 1.860 * w * 136.0) / ((1.0 - w) + 1.860 * w) - KELVIN
