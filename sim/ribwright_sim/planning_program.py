"""What a bend's stages are on a rig: which blanket heats what, in which order, and what is tried of it.

The tightest place is heated and bent first, by the short blanket that lies over it where there is one; the
rest of the strip stays cool and keeps its water until its own turn.  A long blanket under a hot short one
would heat the tightest place far beyond the rest, so that place is let cool between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.rig_values import Rig
from ribwright_board.core.woods import long_one

from .materials import StackError
from .planning_stages import Step

F64 = NDArray[np.float64]

SHAPES = ("waist", "waistless", "cutaway", "place")
# Where a short blanket rests before the long one heats [C]: common practice, no source.
REST_C = 80.0
# The maker's cues by shape: at the tightest place, then along the rest; common practice, no source.
TIGHT_CUES = ("waist to 6 mm", "waist home")
REST_CUES = {
    "waist": ("lower bout", "upper bout"),
    "waistless": ("lower bout", "upper bout"),
    "cutaway": ("lower bout", "upper bout", "cutaway"),
    # One place alone, as in a touch-up.
    "place": (),
}
NEVER = float("nan")


@dataclass(frozen=True, slots=True)
class Order:
    """Which zones heat what.

    first: places of the zones for the tightest place. then: of those for the rest, empty where all is heated
    at once. rest: the first zones cool down in between. setting: zones of the set. first_cues, then_cues: the
    maker's words.
    """

    first: tuple[int, ...]
    then: tuple[int, ...]
    rest: bool
    setting: tuple[int, ...]
    first_cues: tuple[str, ...]
    then_cues: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Try:
    """One way to heat a place: target [C], then a hold by time [min], or by the wood's middle [C]."""

    target_c: float
    minutes: float = 0.0
    mid_wood_c: float | None = None


def order_for(rig: Rig, shape: str = "waist") -> Order:
    """The order of the work on a rig.

    Args:
        rig: checked.
        shape: of SHAPES.

    Raises StackError for another shape.
    """
    if shape not in SHAPES:
        raise StackError(
            "unknown", "shape", repr(shape), f"known: {', '.join(SHAPES)}", "", "use one of them"
        )
    rest_cues = REST_CUES[shape]
    everything = tuple(range(len(rig.zones)))
    long = long_one(rig.zones)
    if len(rig.zones) == 1 or shape == "waistless":
        at_once = everything if long < 0 else (long,)
        cues = rest_cues if shape == "waistless" else ("waist home", *rest_cues)
        return Order(at_once, (), rest=False, setting=at_once, first_cues=cues, then_cues=())
    names = [name.lower() for name in rig.zone_names()]
    short = [zone for zone in everything if zone != long]
    tight = next((zone for zone in short if "waist" in names[zone]), short[0])
    if shape == "place":
        return Order((tight,), (), rest=False, setting=(tight,), first_cues=TIGHT_CUES, then_cues=())
    if long >= 0:
        return Order(
            (tight,), (long,), rest=True, setting=(long,), first_cues=TIGHT_CUES, then_cues=rest_cues
        )
    others = tuple(zone for zone in everything if zone != tight)
    return Order((tight,), others, rest=False, setting=everything, first_cues=TIGHT_CUES, then_cues=rest_cues)


def heat_steps(zones: tuple[int, ...], tried: Sequence[Try], lanes: int, cues: int) -> list[Step]:
    """Ramp, hold by time, hold by the wood and press of one place; what is not tried is passed by.

    Args:
        zones: places.
        tried: the candidates.
        lanes: of each candidate.
        cues: of the press.
    """

    def each(values: Sequence[float]) -> F64:
        return np.repeat(np.array(values, dtype=np.float64), lanes)

    target_c = each([one.target_c for one in tried])
    mids_c = [NEVER if one.mid_wood_c is None else one.mid_wood_c for one in tried]
    return [
        Step("ramp", zones, target_c),
        Step("hold", zones, target_c, minutes=each([one.minutes for one in tried])),
        Step("wood", zones, target_c, mid_wood_c=each(mids_c)),
        Step("press", zones, target_c, cues=cues),
    ]


def rest_and_heat(order: Order, tried: Sequence[Try], lanes: int) -> list[Step]:
    """What follows the first press up to the last one; nothing where all is bent at once.

    Args:
        order: see order_for().
        tried: the candidates for the rest of the strip.
        lanes: of each candidate.
    """
    if not order.then:
        return []
    rest = [Step("ramp", order.first, np.full(len(tried) * lanes, REST_C))] if order.rest else []
    return rest + heat_steps(order.then, tried, lanes, len(order.then_cues))


def set_step(order: Order, set_c: float, lanes: int) -> Step:
    """The set, for as long as it is looked at.

    Args:
        order: see order_for().
        set_c: its target [C].
        lanes: how many.
    """
    return Step("set", order.setting, np.full(lanes, set_c))
