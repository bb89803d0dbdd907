"""Why there is no plan, and what would fit: the refusal with its limit, the water or the radius it would
take.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .colour import REFERENCE_C
from .ensemble import Draw, draws
from .planning_bench import Lanes
from .planning_figures import NEVER_SOFT_K
from .planning_program import Order, Try, heat_steps
from .planning_stages import Stages
from .planning_values import Candidate, RefusalError, Wanted, apart, degrees, length
from .strain import COLD
from .wood import FIBRE_SATURATION_PERCENT

# Moistures looked at for what would fit [%]; wetter than fibre saturation softens nothing more.
WETTER_PERCENT = tuple(range(10, int(FIBRE_SATURATION_PERCENT) + 1, 2))
WETTER_HOLDS_MIN = (0.0, 0.5, 1.0)


@dataclass(frozen=True, slots=True)
class Attempt:
    """What was attempted in vain.

    place: what was to be bent, in words. tried: every way. highest_c: target that its zones allow.
    must_be_soft: it stretches more than cold wood bears. near_k: readings must stay so far below a ceiling.
    longest_s: for heating and pressing.
    """

    place: str
    tried: tuple[Candidate, ...]
    highest_c: float
    must_be_soft: bool
    near_k: float
    longest_s: float


def refusal(attempt: Attempt, wanted: Wanted, fits: str) -> RefusalError:
    """Which limit stands against all that was tried.

    Args:
        attempt: see there.
        wanted: what was asked.
        fits: what would make the wood soft, in words.
    """
    unit = wanted.unit
    if not attempt.tried:
        lowest_c = min(wanted.targets_c[-1] or wanted.targets_c[0])
        return RefusalError(
            "ceiling",
            f"the zones for {attempt.place} allow no target above {degrees(attempt.highest_c, unit)}, a "
            "bend needs at "
            f"least {degrees(lowest_c, unit)}",
            "raise `ceiling` in the rig file, within what blanket and cut-off are rated for",
        )
    best = max(attempt.tried, key=lambda one: one.least_k.low)
    if best.least_k.low <= NEVER_SOFT_K:
        return RefusalError(
            "power",
            f"some rigs do not bring {attempt.place} to {degrees(best.tried.target_c, unit)} and through its "
            "press within "
            f"{attempt.longest_s / 60.0:.0f} min",
            "a stronger blanket, or a thinner piece",
            tried=attempt.tried,
        )
    if attempt.must_be_soft and best.least_k.low < 0.0:
        return RefusalError(
            "softening",
            f"at best, at {degrees(best.tried.target_c, unit)}, the middle of {attempt.place} is "
            f"{apart(-best.least_k.low, unit)} below its softening on the stiffest of the rigs while it is "
            "bent; it must not be "
            "below",
            fits,
            best.least_k.low,
            attempt.tried,
        )
    soft = [one for one in attempt.tried if one.least_k.low >= 0.0 or not attempt.must_be_soft]
    dose = min(one.colour_min.high for one in soft)
    return RefusalError(
        "colour",
        f"where {attempt.place} could be bent, colour comes to {dose:.1f} min at "
        f"{degrees(REFERENCE_C, unit)} at least, or a "
        "thermocouple "
        f"to less than {apart(attempt.near_k, unit)} below its ceiling; asked was {wanted.colour!r} at most",
        "allow the next darker word, or wet the wood more so that it softens at less heat",
        tried=attempt.tried,
    )


def gentle_radius(thickness_mm: float | None, lengths: str = "mm") -> str:
    """The radius that needs no softness, in words.

    Args:
        thickness_mm: of one ply where it is bent.
        lengths: to show, "mm" or "in".

    >>> gentle_radius(2.0)
    'cold wood of this thickness bears a radius of 99 mm'
    """
    if thickness_mm is None:
        return "gentler bends need no softness"
    share = COLD.tension_percent / 100.0
    radius_mm = thickness_mm * (1.0 - share) / (2.0 * share)
    return f"cold wood of this thickness bears a radius of {length(radius_mm, lengths)}"


def least_moisture(
    rig: Mapping[str, object],
    piece: Mapping[str, object],
    order: Order,
    target_c: float,
    rigs: int,
    seed: int,
    longest_s: float,
) -> int | None:
    """The driest wood of WETTER_PERCENT whose tightest place would be soft; None for none.

    Args:
        rig: mapping of a rig file.
        piece: a profile's [piece].
        order: of the work.
        target_c: to try it at.
        rigs: drawn beside the nominal one.
        seed: of the draws.
        longest_s: for heating and pressing.
    """
    each = [draws({**piece, "moisture_percent": float(one)}, rigs, seed) for one in WETTER_PERCENT]
    together: Sequence[Draw] = [one for some in each for one in some]
    tries = [Try(target_c, minutes) for minutes in WETTER_HOLDS_MIN]
    lanes = Lanes(rig, piece, together, len(tries))
    stages = Stages(lanes, heat_steps(order.first, tries, len(together), len(order.first_cues)), {})
    stages.run_until(len(stages.program), longest_s)
    press = stages.progress.presses[max(stages.progress.presses)]
    least = press.least_k.reshape(len(tries), len(WETTER_PERCENT), rigs + 1).min(axis=2).max(axis=0)
    soft = [moisture for moisture, margin in zip(WETTER_PERCENT, least, strict=True) if margin >= 0.0]
    return min(soft, default=None)
