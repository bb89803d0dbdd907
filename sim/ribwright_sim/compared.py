"""Our gains beside what the textbook rules would set: on the same rigs, in the same law, by the same solver.

Every rule is told of the nominal rig without noise and without error, and its gains then stay fixed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from .margins import Answer, margins, rule_gains
from .tuning import RigBench, Warmups

OURS = "ours"


@dataclass(frozen=True, slots=True)
class Compared:
    """One set of gains on one zone.

    name: OURS, or a key of control.rules.RULES. overshoot_k_p95, settle_s_p95, ripple_k_p95: over the rigs.
    unsettled: rigs outside the band at the end of their run. gain_margin, sensitivity: see margins.Margins,
    about the target on the nominal rig.
    """

    name: str
    overshoot_k_p95: float
    settle_s_p95: float
    ripple_k_p95: float
    unsettled: int
    gain_margin: float
    sensitivity: float


def _compared(
    name: str, seen: Warmups, length_s: float, window_s: float, zone: Answer, fixed: Mapping[str, float]
) -> Compared:
    found = margins(zone, fixed, window_s)
    over_k, settle_s, ripple_k = (
        float(np.percentile(one, 95.0)) for one in (seen.overshoot_k, seen.settle_s, seen.ripple_k)
    )
    unsettled = np.isnan(seen.arrive_s) | (seen.settle_s > length_s - 2.0 * window_s)
    return Compared(
        name, over_k, settle_s, ripple_k, int(unsettled.sum()), found.gain_margin, found.sensitivity
    )


def compare(
    bench: RigBench, zone: int, gains: Mapping[str, float], answer: Answer, window_s: float
) -> list[Compared]:
    """Ours first, then every rule.

    Args:
        bench: the rigs; its runs of this zone are long enough.
        zone: its place.
        gains: ours, with kp, ki and kd as this zone scales itself on the nominal rig.
        answer: of this zone on the nominal rig.
        window_s: relay and control window.
    """
    rules = rule_gains(answer, window_s)
    sets = [dict(gains), *({**gains, **one, "fixed": 1.0} for one in rules.values())]
    names = (OURS, *rules)
    seen = bench.warmups(zone, sets)
    length_s = bench.length_s(zone)
    return [
        _compared(name, one, length_s, window_s, answer, fixed)
        for name, one, fixed in zip(names, seen, sets, strict=True)
    ]
