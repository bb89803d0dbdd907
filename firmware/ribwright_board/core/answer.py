"""What a missing answer to a zone's pulse shows."""

from .levels import Levels

NO_SHARE = 0.14
REVERSED_SHARE = -0.3
OTHER_SHARE = 0.25
# What a pulse warms beside its own zone, it warms less; what runs away there has a heat of its own.
BESIDE_SHARE = 1.3
BESIDE_LEAST_SHARE = 0.5
RUNAWAY_SHARE = 2.0
# So it did before the pulse, or still does seconds after it.
RUNAWAY_K_PER_S = 0.06
STAYS_SHARE = 0.12
# A frozen converter is named before the blanket it belongs to.
FROZEN_MS = 8000


def missed(levels: Levels, zone: int, own_k: float, wanted_k: float, still_ms: list[int]) -> str:
    """Code of the fault.

    levels: the proof's seconds. zone: the pulsed one. own_k, wanted_k: its answer and the expected one.
    still_ms: per zone how long its bits stood still.
    """
    # Exchanged wires never show more than the box has while the stack is warmer.
    if own_k < REVERSED_SHARE * wanted_k and not levels.warm[zone]:
        return "reversed"
    for other in range(len(still_ms)):
        # One that was pulsed before may still climb: only what its own trend does not explain counts.
        other_k = min(levels.rise_k(other), levels.off_trend_k(other))
        if other != zone and other_k > max(OTHER_SHARE * wanted_k, own_k):
            return "swapped"
    if still_ms[zone] >= FROZEN_MS:
        return "frozen"
    return "no_rise" if own_k < NO_SHARE * wanted_k else "weak_rise"


def beside(levels: Levels, zone: int, own_k: float, wanted_k: float, probe_k_per_s: float) -> tuple[int, str]:
    """Zone that rose more than the pulsed one, and what that shows; -1 and "" for none.

    levels: the proof's seconds. zone: the pulsed one. own_k, wanted_k: its answer and the expected one.
    probe_k_per_s: rise a second of full power brings shortly after.
    """
    for other in range(len(levels.warm)):
        other_k = levels.off_trend_k(other)
        if other == zone or other_k < max(BESIDE_SHARE * own_k, BESIDE_LEAST_SHARE * wanted_k):
            continue
        if levels.steps(other):
            return other, "leap"
        runs_away = other_k > RUNAWAY_SHARE * wanted_k or levels.trend_k_per_s(other) > RUNAWAY_K_PER_S
        runs_away = runs_away or levels.climb_k_per_s(other) > STAYS_SHARE * probe_k_per_s
        return other, "heat_while_off" if runs_away else "swapped"
    return -1, ""
