"""The search for a plan: the gentlest heat at which the wood is soft on every drawn rig while it is bent.

The simulator decides alone: targets and holds are tried side by side on drawn rigs, every rig with its own
blankets, joints, water, mains and wood.  Deterministic: the same rig, piece and seed give the same plan.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.midwood import WoodEstimate
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.rig_values import Rig
from ribwright_board.core.units import TARGET_MARGIN_K
from ribwright_board.core.woods import Woods

from .colour import SHADES, shade
from .ensemble import draws
from .planning_advice import Attempt, gentle_radius, least_moisture, refusal
from .planning_bench import Lanes
from .planning_figures import NEVER_SOFT_K, all_of, bend_of, colour_of, worst_of, worth
from .planning_grade import graded, strain_of
from .planning_program import Order, Try, heat_steps, order_for, rest_and_heat, set_step
from .planning_stages import Progress, Stages, Step
from .planning_values import Candidate, Found, RefusalError, Wanted, degrees
from .strain import COLD

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
Tell = Callable[[str], None]

RIGS, SEED = 16, 20240601
HOLDS_MIN = (0.0, 0.5, 1.0, 2.0)
# The middle of the wood that ends a hold, where one is tried: free water boils there, bound water begins to
# go.
MID_WOOD_C = 97.0
# A place that takes longer to be warmed and bent is none that a maker waits for; the whole; the set.
LONGEST_HEAT_S, LONGEST_S, LONGEST_SET_S = 540.0, 1800.0, 2400.0
# Set for at least so long [min]: common practice, no source, says about 15.
LEAST_SET_MIN = 15.0
# A reading nearer to its ceiling fades the power of all zones (core.guard).
NEAR_CEILING_K = 8.0
TIGHT, BOUTS = "the tightest place", "the bouts"


def plan_bend(
    rig: Mapping[str, object],
    piece: Mapping[str, object],
    wanted: Wanted | None = None,
    *,
    rigs: int = RIGS,
    seed: int = SEED,
    advise: bool = True,
    tell: Tell | None = None,
) -> Found:
    """A plan for a piece on a rig.

    Args:
        rig: mapping of a checked rig file.
        piece: a profile's [piece].
        wanted: what is asked of it.
        rigs: drawn beside the nominal one.
        seed: of the draws.
        advise: whether a refusal also looks for the moisture that would do, which takes as long again.
        tell: called with what is being done.

    Raises RefusalError where a heat limit stands against every way that was tried, StackError for a stack or
    piece the simulation cannot take, CheckError for a wrong rig.
    """
    search = _Search(rig, piece, wanted or Wanted(), rigs, seed, tell or _quiet)
    search.advise = advise
    return search.run()


def _quiet(_what: str) -> None:
    """Nobody listens."""


def limits_c(rig: Rig, order: Order) -> tuple[float, float]:
    """The highest target that the zones of the first bend allow, and those of the rest [C].

    Args:
        rig: checked.
        order: says which zones those are; without a rest, the first bend's count for both.
    """
    ceilings = [zone.ceiling_c - TARGET_MARGIN_K for zone in rig.zones]
    return min(ceilings[zone] for zone in order.first), min(
        ceilings[zone] for zone in order.then or order.first
    )


class _Search:
    """One search on its way."""

    def __init__(
        self,
        rig: Mapping[str, object],
        piece: Mapping[str, object],
        wanted: Wanted,
        rigs: int,
        seed: int,
        tell: Tell,
    ) -> None:
        self.rig, self.piece, self.wanted, self.seed, self.tell = rig, piece, wanted, seed, tell
        self.checked = parse_rig(rig)
        self.order = order_for(self.checked, wanted.shape)
        self.draws = draws(piece, rigs, seed)
        self.strain, self.strap = strain_of(piece, wanted.bend_thickness_mm)
        # What cold wood bears needs no softness.
        self.must_be_soft = self.strain is None or self.strain > COLD.tension_percent
        self.tried: list[Candidate] = []
        self.advise = True

    def run(self) -> Found:
        """The whole search."""
        first, _ = self._chosen(TIGHT, self._first_bend, limits_c(self.checked, self.order)[0])
        self.tell("the rest of the strip")
        if self.order.then:
            highest_c = limits_c(self.checked, self.order)[1]
            then, whole = self._chosen(BOUTS, lambda tries: self._whole(first, tries), highest_c)
        else:
            then, (_, whole) = None, self._whole(first, [first])
        return self._settled(first, then, whole)

    def _chosen(
        self, place: str, run: Callable[[list[Try]], tuple[list[Candidate], Stages]], highest_c: float
    ) -> tuple[Try, Stages]:
        """The best of what is allowed among the ordinary targets, else below them; the run, of its lanes."""
        seen: list[Candidate] = []
        by_wood = place == TIGHT
        ordinary_c, below_c = self.wanted.targets_c
        # The long way is gone once; lanes are cheap beside it.
        for targets_c in (ordinary_c, below_c) if by_wood else ((*ordinary_c, *below_c),):
            allowed_c = [target_c for target_c in targets_c if target_c <= highest_c + 0.01]
            tries = [Try(target_c, minutes) for target_c in allowed_c for minutes in HOLDS_MIN]
            tries += [Try(target_c, mid_wood_c=MID_WOOD_C) for target_c in allowed_c if by_wood]
            if not tries:
                continue
            found, stages = run(tries)
            seen += found
            good = [at for at, one in enumerate(found) if one.allowed]
            if good:
                within = [at for at in good if tries[at].target_c in ordinary_c]
                best = max(within or good, key=lambda at: worth(found[at]))
                lanes = len(self.draws)
                stages.keep(np.arange(best * lanes, (best + 1) * lanes))
                return tries[best], stages
        raise self._refusal(place, seen, highest_c)

    def _first_bend(self, tries: list[Try]) -> tuple[list[Candidate], Stages]:
        self.tell(f"the tightest place: {len(tries)} ways on {len(self.draws)} rigs")
        stages = self._stages(heat_steps(self.order.first, tries, len(self.draws), self._cues(0)), len(tries))
        stages.run_until(len(stages.program), LONGEST_HEAT_S)
        found = self._candidates(stages, tries)
        self.tried += found
        return found, stages

    def _whole(self, first: Try, tries: list[Try]) -> tuple[list[Candidate], Stages]:
        """From the start to the last press, with the first bend as it was chosen."""
        n = len(self.draws)
        program = heat_steps(self.order.first, [first] * len(tries), n, self._cues(0))
        program += rest_and_heat(self.order, tries, n)
        last = len(program)
        program.append(set_step(self.order, self.wanted.set_c, len(tries) * n))
        stages = self._stages(program, len(tries))
        stages.run_until(last, LONGEST_S)
        return self._candidates(stages, tries), stages

    def _cues(self, bend: int) -> int:
        return len((self.order.first_cues, self.order.then_cues)[bend])

    def _stages(self, program: Sequence[Step], copies: int) -> Stages:
        lanes = Lanes(self.rig, self.piece, self.draws, copies)
        return Stages(lanes, program, self._estimates(program, lanes.count))

    def _estimates(self, program: Sequence[Step], count: int) -> dict[int, list[WoodEstimate]]:
        """The board's own estimate for every lane, of the zones that somebody asks for."""
        wanted = [one for one in program if one.mid_wood_c is not None and not np.isnan(one.mid_wood_c).all()]
        stages = [{"kind": "cool", "below": 60}]
        mapping = {"schema": 1, "name": "plan", "unit": "C", "piece": dict(self.piece), "stages": stages}
        parsed = parse_profile(mapping, self.checked)
        if not wanted or not Woods(self.checked, parsed).estimates:
            return {}
        return {
            one.zones[0]: [Woods(self.checked, parsed).estimates[one.zones[0]] for _ in range(count)]
            for one in wanted
        }

    def _candidates(self, stages: Stages, tries: Sequence[Try]) -> list[Candidate]:
        """What became of every candidate, at its last press."""
        n, seen = len(self.draws), stages.progress
        press = seen.presses[max(seen.presses)]
        # A rig that does not come to the press in time is as stiff as its wood was when it began.
        least_k = np.where(np.isnan(press.least_k), NEVER_SOFT_K, press.least_k)
        spread_k = np.maximum(least_k - stages.lanes.shift_k, NEVER_SOFT_K)
        found = []
        for place, tried in enumerate(tries):
            mine = slice(place * n, (place + 1) * n)
            least = all_of(least_k[mine])
            dose = seen.dose_min[:, mine].max(axis=0)
            found.append(
                Candidate(
                    tried,
                    least,
                    all_of(spread_k[mine]),
                    all_of(dose),
                    allowed=bool(
                        least.low > NEVER_SOFT_K
                        and (not self.must_be_soft or least.low >= 0.0)
                        and self._colour_kept(seen, mine)
                        and self._under_ceilings(seen, mine)
                    ),
                )
            )
        return found

    def _colour_kept(self, seen: Progress, mine: slice) -> bool:
        words = [one.word for one in SHADES]
        most = words.index(self.wanted.colour)
        pairs = zip(seen.dose_min[:, mine].ravel(), seen.hottest_c[:, mine].ravel(), strict=True)
        return all(words.index(shade(float(dose), float(hot)).word) <= most for dose, hot in pairs)

    def _under_ceilings(self, seen: Progress, mine: slice) -> bool:
        ceilings = np.array([zone.ceiling_c for zone in self.checked.zones])
        return bool((seen.highest_c[:, mine].max(axis=1) < ceilings - NEAR_CEILING_K).all())

    def _settled(self, first: Try, then: Try | None, stages: Stages) -> Found:
        """The set, and all figures."""
        self.tell("the set")
        stages.set_until_settled(LONGEST_SET_S)
        seen = stages.progress
        if np.isnan(seen.settled_s).any():
            raise RefusalError(
                "set",
                f"on {int(np.isnan(seen.settled_s).sum())} of {len(self.draws)} rigs the wood is not "
                "below its "
                f"softening after {LONGEST_SET_S / 60:.0f} min at "
                f"{degrees(self.wanted.set_c, self.wanted.unit)}",
                f"start drier, or set hotter, up to {degrees(135.0, self.wanted.unit)}",
            )
        settled = all_of(seen.settled_s / 60.0)
        presses = [seen.presses[place] for place in sorted(seen.presses)]
        tries = [first] if then is None else [first, then]
        bends = tuple(
            bend_of(press, tried, stages.lanes.shift_k, self._cues(bend))
            for bend, (press, tried) in enumerate(zip(presses, tries, strict=True))
        )
        _, _, moisture = stages.lanes.wood()
        found = Found(
            order=self.order,
            bends=bends,
            set_c=self.wanted.set_c,
            set_minutes=float(max(LEAST_SET_MIN, np.ceil(settled.high))),
            settled_min=settled,
            moisture_percent=all_of(moisture.max(axis=0)),
            colours={
                name: colour_of(seen.dose_min[column], seen.hottest_c[column])
                for column, name in enumerate(stages.lanes.columns)
            },
            highest_c={
                name: float(seen.highest_c[zone].max()) for zone, name in enumerate(stages.lanes.zones)
            },
            strain_percent=self.strain,
            strap_percent=self.strap,
            bend_thickness_mm=self._bend_mm(),
            tried=tuple(self.tried),
            rigs=len(self.draws) - 1,
            seed=self.seed,
            worst=worst_of(presses, seen),
        )
        return graded(found, self.piece, self.wanted)

    def _refusal(self, place: str, seen: list[Candidate], highest_c: float) -> RefusalError:
        """Which limit stands against all of them, and what would fit."""
        longest_s = LONGEST_HEAT_S if place == TIGHT else LONGEST_S
        attempt = Attempt(place, tuple(seen), highest_c, self.must_be_soft, NEAR_CEILING_K, longest_s)
        no = refusal(attempt, self.wanted, "")
        return refusal(attempt, self.wanted, self._fits(place)) if no.limit == "softening" else no

    def _fits(self, place: str) -> str:
        """What would make the wood soft: how much water, or how gentle a bend."""
        radius = gentle_radius(self._bend_mm(), self.wanted.lengths)
        if not self.advise or place == BOUTS:
            return f"wetter wood would do, or a gentler bend: {radius}"
        self.tell("how wet it would have to be")
        target_c, few = min(self.wanted.targets_c[0]), len(self.draws) // 2
        least = least_moisture(self.rig, self.piece, self.order, target_c, few, self.seed, LONGEST_HEAT_S)
        if least is None:
            return f"no moisture would do; {radius}"
        return f"moisture_percent of {least} or more, weighed, would do (soaked wood has about 24); {radius}"

    def _bend_mm(self) -> float | None:
        thickness_mm = self.wanted.bend_thickness_mm or self.piece.get("thickness_mm")
        return float(thickness_mm) if isinstance(thickness_mm, int | float) else None
