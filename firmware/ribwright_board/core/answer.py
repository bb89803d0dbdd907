"""What a missing answer to a zone's pulse shows."""

from .levels import Levels

NO_SHARE = 0.14
REVERSED_SHARE = -0.3
OTHER_SHARE = 0.25
# What a pulse warms beside its own zone, it warms less; what runs away there has a heat of its own.
BESIDE_SHARE = 1.3
BESIDE_LEAST_SHARE = 0.5
RUNAWAY_SHARE = 2.0
# What follows the pulse turns with it: so much of the rise stands above the line from its start to its end.
BUMP_SHARE = 0.07
# Less than this is noise on a stack that falls ever more slowly.
FOLLOWS_K = 0.15
# So it did before the pulse, or still does seconds after it.
RUNAWAY_K_PER_S = 0.06
STAYS_SHARE = 0.12
# A frozen converter is named before the blanket it belongs to.
FROZEN_MS = 8000


def missed(levels: Levels, zone: int, own_k: float, wanted_k: float, heat_s: int, still_ms: list[int]) -> str:
    """Code of the fault.

    levels: the proof's seconds. zone: the pulsed one. own_k, wanted_k: its answer and the expected one.
    heat_s: length of the pulse. still_ms: per zone how long its bits stood still.
    """
    # Exchanged wires never show more than the box has while the stack is warmer; what fell before falls on.
    fallen_k = own_k - min(0.0, levels.trend_k(zone))
    if fallen_k < REVERSED_SHARE * wanted_k and not levels.warm[zone]:
        return "reversed"
    for other in range(len(still_ms)):
        # One that was pulsed before may still climb: only what its own trend does not explain counts.
        rise_k = levels.rise_k(other)
        bump_k = levels.bump_k(other, heat_s)
        other_k = min(rise_k, levels.off_trend_k(other))
        if levels.slows(other) and bump_k > -BUMP_SHARE * rise_k:
            # It fell fast, and would hang below that line without heat.
            other_k = levels.answer_k(other, heat_s)
        if (
            levels.trend_k_per_s(other) <= 0.0
            and rise_k > 0.0
            and bump_k > max(BUMP_SHARE * rise_k, FOLLOWS_K)
        ):
            # It fell before the pulse and follows it now: nothing else explains that.
            other_k = rise_k
        if other != zone and other_k > max(OTHER_SHARE * wanted_k, own_k):
            return "swapped"
    if still_ms[zone] >= FROZEN_MS:
        return "frozen"
    if levels.stalls(zone):
        # It has left its own fall and does not go back to it: the heat has not ended with the pulse.
        return "heat_while_off"
    return "no_rise" if own_k < NO_SHARE * wanted_k else "weak_rise"


def unsure(code: str, levels: Levels, zone: int, wanted_k: float) -> bool:
    """Whether what seems to be heated by itself may be a slow thermocouple after the pulse.

    code: as of beside(). levels: the proof's seconds. zone: whose. wanted_k: the pulse's expected answer.
    """
    return code == "heat_while_off" and levels.off_trend_k(zone) < RUNAWAY_SHARE * wanted_k


def beside(
    levels: Levels, zone: int, own_k: float, wanted_k: float, heat_s: int, probe_k_per_s: float
) -> tuple[int, str]:
    """Zone that rose more than the pulsed one, and what that shows; -1 and "" for none.

    levels: the proof's seconds. zone: the pulsed one. own_k, wanted_k: its answer and the expected one.
    heat_s: length of the pulse. probe_k_per_s: rise a second of full power brings shortly after.
    """
    for other in range(len(levels.warm)):
        other_k = levels.off_trend_k(other)
        if other == zone or other_k < max(BESIDE_SHARE * own_k, BESIDE_LEAST_SHARE * wanted_k):
            continue
        if levels.steps(other):
            return other, "leap"
        runs_away = other_k > RUNAWAY_SHARE * wanted_k or levels.trend_k_per_s(other) > RUNAWAY_K_PER_S
        runs_away = runs_away or levels.climb_k_per_s(other) > STAYS_SHARE * probe_k_per_s
        follows = levels.bump_k(other, heat_s) > BUMP_SHARE * other_k
        return other, "swapped" if follows and not runs_away else "heat_while_off"
    return -1, ""
