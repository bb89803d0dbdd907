"""Physical effects, each a small piece with its source.

Temperatures in C unless a name says `_k`; fluxes in W/m2; conductances in W/(m2 K).
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

# Air at 1 atm: C, conductivity W/(m K), kinematic viscosity and diffusivity m2/s (CoolProp 8.0.0, computed).
_AIR = np.array(
    [
        [20.0, 0.025874, 1.5114e-5, 2.1348e-5],
        [50.0, 0.028083, 1.7973e-5, 2.5516e-5],
        [85.0, 0.030576, 2.1233e-5, 3.0722e-5],
        [100.0, 0.031620, 2.3150e-5, 3.3058e-5],
        [150.0, 0.035001, 2.8809e-5, 4.1261e-5],
        [200.0, 0.038249, 3.4923e-5, 5.0036e-5],
    ]
)
# A parabola follows these rows within 0.1 % and stays sane in a cold workshop, where a table would clamp.
_AIR_FIT = np.polyfit(_AIR[:, 0], _AIR[:, 1:], 2)

# Latent heat of water: C, J/kg (CoolProp 8.0.0, computed).
_LATENT_C = np.array([20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0, 150.0, 160.0, 180.0, 200.0])
_LATENT_J_KG = 1e3 * np.array(
    [2453.5, 2406.0, 2357.7, 2308.0, 2256.4, 2202.1, 2144.3, 2113.8, 2082.0, 2014.2, 1939.7]
)

# Saturation line of water, Wagner and Pruss 1993 (coefficients from memory, checked in the tests).
_SAT_POWERS = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
_SAT_TERMS = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
CRITICAL_K, CRITICAL_PA = 647.096, 22.064e6


def saturation_pressure_pa(at_c: Real) -> F64:
    """Vapour pressure over liquid water [Pa], 0-373 C; Wagner and Pruss (IAPWS SR1-86).

    >>> round(float(saturation_pressure_pa(100.0)) / 1000.0, 2)
    101.42
    """
    t_k = np.minimum(np.asarray(at_c) + KELVIN, CRITICAL_K)
    below = 1.0 - t_k / CRITICAL_K
    total = sum(term * below**power for term, power in zip(_SAT_TERMS, _SAT_POWERS, strict=True))
    result: F64 = CRITICAL_PA * np.exp(CRITICAL_K / t_k * total)
    return result


def latent_heat_j_kg(at_c: Real) -> F64:
    """Latent heat of water [J/kg], 20-200 C, ends held; interpolated in CoolProp 8.0.0 values."""
    result: F64 = np.interp(np.asarray(at_c), _LATENT_C, _LATENT_J_KG)
    return result


def churchill_chu_nusselt(rayleigh: Real, prandtl: Real) -> Real:
    """Mean Nusselt number of a vertical plate, all Rayleigh numbers.

    Churchill and Chu 1975, Int. J. Heat Mass Transfer 18:1323.

    >>> round(float(churchill_chu_nusselt(9.2932e6, 0.70127)), 3)
    30.522
    """
    shape = (1.0 + (0.492 / np.asarray(prandtl)) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return (0.825 + 0.387 * np.asarray(rayleigh) ** (1.0 / 6.0) / shape) ** 2


def convection_w_m2_k(surface_c: Real, ambient_c: float, height_m: float) -> F64:
    """Natural convection coefficient of a vertical face [W/(m2 K)] in still air at 1 atm.

    Args:
        surface_c: face temperature [C].
        ambient_c: air temperature [C].
        height_m: height of the face [m].

    Film-temperature properties, beta = 1/T_film, Churchill-Chu.
    """
    film_c = 0.5 * (np.asarray(surface_c, dtype=np.float64) + ambient_c)
    squared, linear, constant = _AIR_FIT
    k, nu, alpha = (squared[i] * film_c**2 + linear[i] * film_c + constant[i] for i in range(3))
    drive_k = np.abs(np.asarray(surface_c) - ambient_c)
    rayleigh = GRAVITY_M_S2 * drive_k * height_m**3 / ((film_c + KELVIN) * nu * alpha)
    result: F64 = churchill_chu_nusselt(rayleigh, nu / alpha) * k / height_m
    return result


def radiation_w_m2(surface_c: Real, ambient_c: float, emissivity: float) -> F64:
    """Net grey radiation to a large room [W/m2]: e sigma (Ts^4 - Tr^4)."""
    t_k = np.asarray(surface_c, dtype=np.float64) + KELVIN
    result: F64 = emissivity * STEFAN_BOLTZMANN * (t_k**4 - (ambient_c + KELVIN) ** 4)
    return result


def mains_power_w(rated_w: float, mains: float, factor: float) -> float:
    """Power of a resistive blanket [W]: rated power times tolerance `factor` times (V/V rated) squared."""
    return rated_w * factor * mains * mains


def contact_share(since_s: float | None, ramp_s: float) -> float:
    """How far the strip has settled on the form, 0 (hanging free) to 1, `since_s` after it met it.

    A straight rise over `ramp_s`: common practice, no source.
    """
    return 0.0 if since_s is None else min(1.0, max(0.0, since_s / ramp_s))


def seep_rate_per_s(at_c: F64, ambient_c: float, seep_s: float) -> F64:
    """Share of the water above room equilibrium that seeps through the folds below boiling [1/s].

    PROPOSAL: driven by the vapour pressure above the room's, none at room temperature, one `seep_s`
    time constant at the boiling point.
    """
    drive = np.asarray(saturation_pressure_pa(at_c)) - float(saturation_pressure_pa(ambient_c))
    result: F64 = np.clip(drive / ATMOSPHERE_PA, 0.0, 1.0) / seep_s
    return result


class FaceLoss:
    """Heat lost by an outer face: natural convection plus grey radiation, tabulated once per kelvin.

    The solver asks for it at every refresh, so the formulas are evaluated only here.
    """

    BELOW_K, ABOVE_K = 80, 700

    def __init__(self, ambient_c: float, height_m: float, emissivity: float) -> None:
        # Counted from the room, so that the loss vanishes exactly there.
        self._at_c = ambient_c + np.arange(-self.BELOW_K, self.ABOVE_K + 1.0)
        convected = convection_w_m2_k(self._at_c, ambient_c, height_m) * (self._at_c - ambient_c)
        self._flux = convected + radiation_w_m2(self._at_c, ambient_c, emissivity)

    def flux_w_m2(self, surface_c: Real) -> F64:
        """Flux out of the face [W/m2]."""
        result: F64 = np.interp(np.asarray(surface_c), self._at_c, self._flux)
        return result

    def linear(self, surface_c: float) -> tuple[float, float]:
        """`(flux, slope)` [W/m2, W/(m2 K)] about `surface_c`."""
        low, here, high = self.flux_w_m2(np.array([surface_c - 0.5, surface_c, surface_c + 0.5]))
        return float(here), float(high - low)
