"""Figures of a plan from what its lanes have seen: whole bands, words of colour, which rig was worst off."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .colour import SHADES, shade
from .planning_program import Try
from .planning_stages import NEXT_S, Pressed, Progress
from .planning_values import BendFigures, Candidate, ColourFigures
from .stage_figures import Band

F64 = NDArray[np.float64]

# Margin above softening beyond which more is not asked for [K]. PROPOSAL.
RESERVE_K = 5.0
# Stands for a margin where a rig does not come to a press in time [K].
NEVER_SOFT_K = -150.0


def all_of(values: F64) -> Band:
    """The whole band: lowest, middle and highest of all rigs.

    Args:
        values: one a rig.

    >>> all_of(np.array([3.0, 1.0, 2.0]))
    Band(low=1.0, mid=2.0, high=3.0)
    """
    return Band(*(round(float(value), 3) for value in np.percentile(values, (0.0, 50.0, 100.0))))


def colour_of(dose_min: F64, hottest_c: F64) -> ColourFigures:
    """Colour of one column over the rigs.

    Args:
        dose_min: minutes at 177 C, one a rig.
        hottest_c: hottest face [C], one a rig.
    """
    pairs = zip(dose_min, hottest_c, strict=True)
    ranks = sorted(SHADES.index(shade(float(dose), float(hot))) for dose, hot in pairs)
    words = (SHADES[ranks[0]], SHADES[ranks[len(ranks) // 2]], SHADES[ranks[-1]])
    return ColourFigures(all_of(dose_min), all_of(hottest_c), words)


def bend_of(press: Pressed, tried: Try, shift_k: F64, cues: int) -> BendFigures:
    """One bend over the rigs.

    Args:
        press: what was seen.
        tried: how the place was heated.
        shift_k: of each rig's softening curve [K].
        cues: of the press.
    """
    return BendFigures(
        tried=tried,
        start_min=all_of(press.start_s / 60.0),
        first_k=all_of(press.first_k),
        least_k=all_of(press.least_k),
        least_spread_k=all_of(press.least_k - shift_k),
        soft_s=float(press.soft_s.min()),
        followed_s=NEXT_S * (cues + 1),
    )


def worst_of(presses: Sequence[Pressed], seen: Progress) -> tuple[int, ...]:
    """The rigs that are worst off: the stiffest of all bends, then the others' and the darkest.

    Args:
        presses: of the whole run.
        seen: by its lanes.
    """
    stiffest = sorted(presses, key=lambda press: float(press.least_k.min()))
    places = [int(press.least_k.argmin()) for press in stiffest]
    return tuple(dict.fromkeys([*places, int(seen.dose_min.max(axis=0).argmax())]))


def worth(one: Candidate) -> tuple[float, float]:
    """How good a way is: soft by the stiff end of the curve too, with a reserve; then the hotter, for wood
    that is bent hotter springs back less (a proposal, from relaxation near softening).

    Args:
        one: a candidate that is allowed.
    """
    softness_k = min(one.least_spread_k.low, 0.0) + min(one.least_k.low, RESERVE_K)
    return round(softness_k), one.tried.target_c
