"""All that is compared, by name: how each law is set for each stack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.gains import GAIN_NAMES

from . import drawn, laws
from .contest import Field, each_of
from .rules import RULES, Learned, learn, parameters

F64 = NDArray[np.float64]

# The law as it was first found on another draw of this ensemble, by window [s]: gain, integral, derivative,
# kappa.  It is what the board's own coefficients are measured against.
REFERENCE = {1.0: (2.25, 3.10, 0.567, 1.67), 2.0: (1.26, 3.37, 0.653, 1.44)}
REFERENCE_BUMP = 0.25
ON_OFF_BAND_K = 1.0


@dataclass(frozen=True, slots=True)
class Method:
    """A law with one row of parameters for each stack.

    name: key in control.json. kind: of laws.py. bare: a textbook rule as a library is used.
    """

    name: str
    kind: int
    parameters: list[F64]
    bare: bool


def scaled(gains: Mapping[str, float], bump: float) -> F64:
    """Parameters of the self-scaling law.

    Args:
        gains: as core.gains.GAIN_NAMES.
        bump: duty added when the form is met.
    """
    row = np.zeros(laws.PARAMETERS)
    # laws.py has these first, in the same order.
    row[: len(GAIN_NAMES)] = [gains[name] for name in GAIN_NAMES]
    row[laws.SCALED], row[laws.BUMP] = 1.0, bump
    return row


def reference(window_s: float, fixed: Mapping[str, float]) -> F64:
    """Parameters of the reference law; `fixed` serves until a ramp has taught it, as on the board."""
    c_gain, c_integral, c_derivative, kappa = REFERENCE[window_s]
    own = {"c_gain": c_gain, "c_integral": c_integral, "c_derivative": c_derivative, "kappa": kappa}
    return scaled({**fixed, **own}, REFERENCE_BUMP)


def methods(among: Field, window_s: float, fixed: Mapping[str, float]) -> list[Method]:
    """Everything the board's own control is compared with, for one window.

    Args:
        among: the stacks.
        window_s: relay and control window.
        fixed: gains as core.gains.GAIN_NAMES, for what the reference law has none of its own of.
    """
    count = len(among.places)
    on_off = np.zeros(laws.PARAMETERS)
    on_off[laws.BAND_K] = ON_OFF_BAND_K
    kappa = REFERENCE[window_s][3]
    found = [
        Method("on_off", laws.ON_OFF, [on_off] * count, bare=True),
        Method("reference_law", laws.ZONE, [reference(window_s, fixed)] * count, bare=False),
    ]
    own: list[Learned] = each_of(lambda i: learn(among.plants[i], among.target_c, window_s), count)
    middle = learn(drawn.nominal(), among.target_c, window_s)
    for name, rule in RULES.items():
        rows = {
            f"{name}_own": [parameters(rule(seen), kappa) for seen in own],
            f"{name}_nominal": [parameters(rule(middle), kappa)] * count,
        }
        for title, settings in rows.items():
            found.append(Method(title, laws.BARE, settings, bare=True))
            found.append(Method(f"{title}_wrapped", laws.ZONE, settings, bare=False))
    return found
