"""From what was learned to the next plan: a set temperature with its interval, or what to vary instead."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .learn import INTERVAL, LEAST_SIDES, Case, Learned, learn, usable

# Nobody is sent further from what was tried than this, K, in one pair. PROPOSAL.
FARTHEST_STEP_K = 5.0
# Sets lie at 120 to 135 C (common practice, no source); a little room is left either way.
SET_SPAN_C = (110.0, 145.0)


@dataclass(frozen=True)
class Suggestion:
    """What to change next time. suggested_set_c: None where nothing can be suggested. interval_c: of
    the set that would bring the gap to the aim, as Effect's, before any limit. held_back: the suggestion goes
    only as far as one pair may, not to the set the interval is about. gap_mm: to expect, with its interval.
    """

    suggested_set_c: float | None
    interval_c: tuple[float, float] | None
    held_back: bool
    aim_mm: float
    gap_mm: float | None
    gap_interval_mm: tuple[float, float] | None
    reason: str

    def as_json(self) -> dict[str, Any]:
        """The suggestion for a program."""
        return dict(self.__dict__)


def _nothing(aim_mm: float, reason: str) -> Suggestion:
    return Suggestion(None, None, False, aim_mm, None, None, reason)  # noqa: FBT003 - held back by nothing


def try_to_learn(cases: Sequence[Case]) -> tuple[Learned | None, str]:
    """What can be learned, or None with what is missing.

    cases: real, measured sides.
    """
    if len(cases) < LEAST_SIDES:
        return None, (
            f"not enough yet: {len(cases)} real sides are measured, {LEAST_SIDES} are needed; measure after "
            "rest with `ribwright book measure`"
        )
    factors, used, _ = usable(cases)
    if len(used) < LEAST_SIDES:
        return None, (
            f"not enough yet: {len(used)} of {len(cases)} sides know all of "
            f"{', '.join(factor.name for factor in factors)}, {LEAST_SIDES} are needed"
        )
    if not factors:
        return None, "nothing differs between the sides, so nothing can be told apart; vary one thing"
    return learn(cases), ""


def suggest(learned: Learned | None, cases: Sequence[Case], aim_mm: float, why_not: str) -> Suggestion:
    """The set for the next pair, like the newest side in all else.

    learned, why_not: of try_to_learn(). cases: the same sides, the newest last. aim_mm: the mean gap wanted.
    """
    if learned is None:
        return _nothing(aim_mm, why_not)
    names = [factor.name for factor in learned.factors]
    if "set_c" not in names:
        why = learned.left_out.get("set_c", "unknown")
        return _nothing(
            aim_mm,
            f"of the set temperature nothing can be told: {why}; set one side of the next pair 5 K hotter",
        )
    effect = next(one for one in learned.effects() if one.factor.name == "set_c")
    if not effect.told:
        return _nothing(
            aim_mm,
            "what the set temperature does cannot be told yet: 5 K hotter change the gap by "
            f"{5 * effect.low:+.1f} to {5 * effect.high:+.1f} mm; set one side of the next pair 5 K hotter",
        )
    column = names.index("set_c") + 1
    centre_c = float(learned.centres[column - 1])
    like_last = {**cases[-1].values, "set_c": centre_c}
    at_centre = learned.gap_draws(like_last)
    wanted_c = centre_c + (aim_mm - at_centre) / learned.draws[:, column]
    tail = (1 - INTERVAL) / 2
    low, middle, high = (float(value) for value in np.quantile(wanted_c, [tail, 0.5, 1 - tail]))
    tried = [value for case in cases if (value := case.values.get("set_c")) is not None]
    nearest_c = max(min(tried) - FARTHEST_STEP_K, SET_SPAN_C[0])
    farthest_c = min(max(tried) + FARTHEST_STEP_K, SET_SPAN_C[1])
    advised_c = float(np.clip(middle, nearest_c, farthest_c))
    expected = learned.gap_draws({**like_last, "set_c": advised_c})
    # One side scatters about the mean of its like.
    scattered = expected + learned.noise_mm * np.random.default_rng(1).standard_normal(expected.size)
    around = tuple(float(value) for value in np.quantile(scattered, [tail, 1 - tail]))
    held_back = advised_c != middle
    reason = (
        "the limit of one step from what was tried, or of sets at all" if held_back else "reaches the aim"
    )
    return Suggestion(
        round(advised_c, 1),
        (low, high),
        held_back,
        aim_mm,
        float(expected.mean()),
        (around[0], around[1]),
        reason,
    )
