"""Physical effects, each a small piece with its source.

Temperatures in C unless a name says `_k`; fluxes in W/m2; conductances in W/(m2 K).  Every function is
arithmetic and numpy ufuncs alone, on floats or float arrays, so that a compiler may take it as it stands:
no branch on a value, no table.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
Real = float | F64

KELVIN = 273.15
GRAVITY_M_S2 = 9.80665
STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4), CODATA
ATMOSPHERE_PA = 101325.0
CRITICAL_K, CRITICAL_PA = 647.096, 22.064e6


def saturation_pressure_pa(at_c: Real) -> Real:
    """Vapour pressure over liquid water [Pa], 0-373 C; Wagner and Pruss 1993 (IAPWS SR1-86).

    Coefficients from memory, checked in the tests; the powers 1, 1.5, 3, 3.5, 4, 7.5 are built from one root.

    >>> round(float(saturation_pressure_pa(100.0)) / 1000.0, 2)
    101.42
    """
    t_k = np.minimum(at_c + KELVIN, CRITICAL_K)
    x = 1.0 - t_k / CRITICAL_K
    root = np.sqrt(x)
    x3 = x * x * x
    total = (
        -7.85951783 * x
        + 1.84408259 * x * root
        - 11.7866497 * x3
        + 22.6807411 * x3 * root
        - 15.9618719 * x3 * x
        + 1.80122502 * x3 * x3 * x * root
    )
    return CRITICAL_PA * np.exp(CRITICAL_K / t_k * total)


def vapour_drive(at_c: Real) -> Real:
    """Vapour pressure over liquid water, in atmospheres [1]; 1 at the boiling point.

    >>> round(float(vapour_drive(120.0)), 3)
    1.961
    """
    return saturation_pressure_pa(at_c) / ATMOSPHERE_PA


def latent_heat_j_kg(at_c: Real) -> Real:
    """Latent heat of water [J/kg], 20-200 C, ends held.

    Cubic through CoolProp 8.0.0 values (computed), within 0.02 %.

    >>> round(float(latent_heat_j_kg(100.0)) / 1000.0)
    2257
    """
    t = np.minimum(np.maximum(at_c, 20.0), 200.0)
    return 2502172.365 + t * (-2450.328769 + t * (1.699013030 - 0.01752169912 * t))


def churchill_chu_nusselt(rayleigh: Real, prandtl: Real) -> Real:
    """Mean Nusselt number of a vertical plate, all Rayleigh numbers.

    Churchill and Chu 1975, Int. J. Heat Mass Transfer 18:1323.

    Args:
        rayleigh: over the plate's height, 0 or above [1].
        prandtl: of the fluid, above 0 [1].

    >>> round(float(churchill_chu_nusselt(9.2932e6, 0.70127)), 3)
    30.522
    """
    shape = (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return (0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / shape) ** 2


def convection_w_m2_k(surface_c: Real, ambient_c: Real, height_m: Real) -> Real:
    """Natural convection coefficient of a vertical face [W/(m2 K)] in still air at 1 atm.

    Args:
        surface_c: face temperature [C].
        ambient_c: air temperature [C].
        height_m: height of the face [m].

    Film-temperature properties, beta = 1/T_film, Churchill-Chu.  Air: parabolas through CoolProp 8.0.0
    values from 20 to 200 C (computed), within 0.1 %.
    """
    film_c = 0.5 * (surface_c + ambient_c)
    k = 0.02438233 + film_c * (7.5428892e-05 - film_c * 3.0565297e-08)
    viscosity = 1.3338159e-05 + film_c * (8.6052603e-08 + film_c * 1.1027196e-10)
    alpha = 1.865781e-05 + film_c * (1.3108256e-07 + film_c * 1.2936991e-10)
    drive_k = np.abs(surface_c - ambient_c)
    rayleigh = GRAVITY_M_S2 * drive_k * height_m**3 / ((film_c + KELVIN) * viscosity * alpha)
    return churchill_chu_nusselt(rayleigh, viscosity / alpha) * k / height_m


def radiation_w_m2(surface_c: Real, ambient_c: Real, emissivity: Real) -> Real:
    """Net grey radiation to a large room [W/m2]: e sigma (Ts^4 - Tr^4).

    Args:
        surface_c: face temperature [C].
        ambient_c: of the room's walls [C].
        emissivity: of the face, 0-1; a fitted one may be above [1].
    """
    face = (surface_c + KELVIN) * (surface_c + KELVIN)
    room = (ambient_c + KELVIN) * (ambient_c + KELVIN)
    return emissivity * STEFAN_BOLTZMANN * (face * face - room * room)


def face_flux_w_m2(surface_c: Real, ambient_c: Real, height_m: Real, emissivity: Real) -> Real:
    """Heat an outer face loses to the room [W/m2]: natural convection plus grey radiation.

    Args:
        surface_c: face temperature [C].
        ambient_c: air and walls [C].
        height_m: height of the face [m].
        emissivity: of the face, 0-1; a fitted one may be above [1].
    """
    convected = convection_w_m2_k(surface_c, ambient_c, height_m) * (surface_c - ambient_c)
    return convected + radiation_w_m2(surface_c, ambient_c, emissivity)


def mains_power_w(rated_w: Real, mains: Real, factor: Real) -> Real:
    """Power of a resistive blanket [W]: rated power times tolerance `factor` times (V/V rated) squared.

    Args:
        rated_w: power on its label [W].
        mains: volts over rated volts [1].
        factor: true power over the label's, at rated volts [1].
    """
    return rated_w * factor * mains * mains


def contact_share(since_s: Real, ramp_s: Real) -> Real:
    """How far the strip has settled on the form, 0 (hanging free) to 1, `since_s` after it met it.

    Minus infinity while it hangs free.  A straight rise over `ramp_s`: common practice, no source.

    >>> [float(contact_share(t, 10.0)) for t in (-float("inf"), 5.0, 99.0)]
    [0.0, 0.5, 1.0]
    """
    return np.minimum(1.0, np.maximum(0.0, since_s / ramp_s))
