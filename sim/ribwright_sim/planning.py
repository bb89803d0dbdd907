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
from .ensemble import Draw, draws
from .planning_bench import Lanes
from .planning_grade import graded
from .planning_program import Order, Try, heat_steps, order_for, rest_and_heat, set_step
from .planning_stages import Pressed, Progress, Stages, Step
from .planning_values import BendFigures, Candidate, ColourFigures, Found, RefusalError, Wanted
from .stage_figures import Band
from .strain import COLD, outer_strain_percent, strap_compression_percent
from .wood import FIBRE_SATURATION_PERCENT

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
# Margin above softening beyond which more is not asked for [K]. PROPOSAL.
RESERVE_K = 5.0
# Set for at least so long [min]: common practice, no source, says about 15.
LEAST_SET_MIN = 15.0
# Stands for a margin where no rig comes to a press in time [K].
NEVER_SOFT_K = -150.0
# A reading nearer to its ceiling fades the power of all zones (core.guard).
NEAR_CEILING_K = 8.0
# Moistures looked at for what would fit [%]; wetter than fibre saturation softens nothing more.
WETTER_PERCENT = tuple(range(10, int(FIBRE_SATURATION_PERCENT) + 1, 2))


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
    """The highest target that the zones of the first bend allow, and those of the rest [C]."""
    ceilings = [zone.ceiling_c - TARGET_MARGIN_K for zone in rig.zones]
    return min(ceilings[zone] for zone in order.first), min(
        ceilings[zone] for zone in order.then or order.first
    )


def strain_of(
    piece: Mapping[str, object], bend_thickness_mm: float | None = None
) -> tuple[float | None, float | None]:
    """Stretch of the outer fibres at the tightest radius, and compression with a strap, of one ply [%].

    Args:
        piece: a profile's [piece].
        bend_thickness_mm: of a ply at that place, where it differs from the rest.
    """
    radius_mm, thickness_mm = piece.get("tightest_radius_mm"), bend_thickness_mm or piece.get("thickness_mm")
    if not isinstance(radius_mm, int | float) or not isinstance(thickness_mm, int | float):
        return None, None
    return outer_strain_percent(thickness_mm, radius_mm), strap_compression_percent(thickness_mm, radius_mm)


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
        first, _ = self._chosen(self._first_bend, limits_c(self.checked, self.order)[0], by_wood=True)
        self.tell("the rest of the strip")
        if self.order.then:
            highest_c = limits_c(self.checked, self.order)[1]
            then, whole = self._chosen(lambda tries: self._whole(first, tries), highest_c, by_wood=False)
        else:
            then, (_, whole) = None, self._whole(first, [first])
        return self._settled(first, then, whole)

    def _chosen(
        self, run: Callable[[list[Try]], tuple[list[Candidate], Stages]], highest_c: float, *, by_wood: bool
    ) -> tuple[Try, Stages]:
        """The best of what is allowed among the ordinary targets, else below them; the run, of its lanes."""
        seen: list[Candidate] = []
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
            good = [place for place, one in enumerate(found) if one.allowed]
            if good:
                within = [place for place in good if tries[place].target_c in ordinary_c]
                best = max(within or good, key=lambda place: _worth(found[place]))
                lanes = len(self.draws)
                stages.keep(np.arange(best * lanes, (best + 1) * lanes))
                return tries[best], stages
        raise self._refusal(seen, highest_c)

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
            least = _all_of(least_k[mine])
            dose = seen.dose_min[:, mine].max(axis=0)
            found.append(
                Candidate(
                    tried,
                    least,
                    _all_of(spread_k[mine]),
                    _all_of(dose),
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
                f"softening after {LONGEST_SET_S / 60:.0f} min at {self.wanted.set_c:.0f} C",
                "start drier, or set hotter within 120 to 135 C",
            )
        settled = _all_of(seen.settled_s / 60.0)
        presses = [seen.presses[place] for place in sorted(seen.presses)]
        tries = [first] if then is None else [first, then]
        bends = tuple(
            self._bend(press, tried, stages.lanes.shift_k, bend)
            for bend, (press, tried) in enumerate(zip(presses, tries, strict=True))
        )
        _, _, moisture = stages.lanes.wood()
        found = Found(
            order=self.order,
            bends=bends,
            set_c=self.wanted.set_c,
            set_minutes=float(max(LEAST_SET_MIN, np.ceil(settled.high))),
            settled_min=settled,
            moisture_percent=_all_of(moisture.max(axis=0)),
            colours={
                name: _colour(seen.dose_min[column], seen.hottest_c[column])
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
            worst=_worst(presses, seen),
        )
        return graded(found, self.piece)

    def _bend(self, press: Pressed, tried: Try, shift_k: F64, bend: int) -> BendFigures:
        return BendFigures(
            tried=tried,
            start_min=_all_of(press.start_s / 60.0),
            first_k=_all_of(press.first_k),
            least_k=_all_of(press.least_k),
            least_spread_k=_all_of(press.least_k - shift_k),
            soft_s=float(press.soft_s.min()),
            followed_s=30.0 * (self._cues(bend) + 1),
        )

    def _refusal(self, seen: list[Candidate], highest_c: float) -> RefusalError:
        """Which limit stands against all of them, and what would fit."""
        tried = tuple(seen)
        if not seen:
            lowest_c = min(self.wanted.targets_c[-1])
            return RefusalError(
                "ceiling",
                f"the zones allow no target above {highest_c:.0f} C, a bend needs at least {lowest_c:.0f} C",
                "raise `ceiling` in the rig file, within what blanket and cut-off are rated for",
            )
        best = max(seen, key=lambda one: one.least_k.low)
        if self.must_be_soft and best.least_k.low < 0.0:
            return RefusalError(
                "softening",
                f"at best, at {best.tried.target_c:.0f} C, the middle of the wood is "
                f"{-best.least_k.low:.0f} K "
                "below its softening on the stiffest of the rigs while it is bent; 0 K is the limit",
                self._fits(),
                best.least_k.low,
                tried,
            )
        soft = [one for one in seen if one.least_k.low >= 0.0 or not self.must_be_soft]
        dose = min(one.colour_min.high for one in soft)
        return RefusalError(
            "colour",
            f"where the wood is soft enough, colour comes to {dose:.1f} min at 177 C at least, or the "
            f"thermocouples to less than {NEAR_CEILING_K:.0f} K below a ceiling; asked was "
            f"{self.wanted.colour!r} at most",
            "allow the next darker word, or wet the wood more so that it softens at less heat",
            tried=tried,
        )

    def _fits(self) -> str:
        """What would make the wood soft: how much water, or how gentle a bend."""
        radius = self._gentle_radius()
        if not self.advise:
            return f"wetter wood would, or a gentler bend: {radius}"
        least = self._least_moisture()
        if least is None:
            return f"no moisture would do; {radius}"
        return f"moisture_percent of {least} or more, weighed, would do (soaked wood has about 24); {radius}"

    def _bend_mm(self) -> float | None:
        thickness_mm = self.wanted.bend_thickness_mm or self.piece.get("thickness_mm")
        return float(thickness_mm) if isinstance(thickness_mm, int | float) else None

    def _gentle_radius(self) -> str:
        thickness_mm = self._bend_mm()
        if thickness_mm is None:
            return "gentler bends need no softness"
        share = COLD.tension_percent / 100.0
        return (
            "cold wood of this thickness bears a radius of "
            f"{thickness_mm * (1.0 - share) / (2.0 * share):.0f} mm"
        )

    def _least_moisture(self) -> int | None:
        """The driest wood of WETTER_PERCENT that would be soft enough, with how it is wetted now."""
        self.tell("how wet it would have to be")
        few = len(self.draws) // 2
        each = [
            draws({**self.piece, "moisture_percent": float(moisture)}, few, self.seed)
            for moisture in WETTER_PERCENT
        ]
        together: list[Draw] = [one for some in each for one in some]
        target_c = min(self.wanted.targets_c[0])
        tries = [Try(target_c, minutes) for minutes in HOLDS_MIN[:3]]
        lanes = Lanes(self.rig, self.piece, together, len(tries))
        stages = Stages(lanes, heat_steps(self.order.first, tries, len(together), self._cues(0)), {})
        stages.run_until(len(stages.program), LONGEST_HEAT_S)
        press = stages.progress.presses[max(stages.progress.presses)]
        least = press.least_k.reshape(len(tries), len(WETTER_PERCENT), few + 1).min(axis=2).max(axis=0)
        soft = [moisture for moisture, margin in zip(WETTER_PERCENT, least, strict=True) if margin >= 0.0]
        return min(soft, default=None)


def _worst(presses: Sequence[Pressed], seen: Progress) -> tuple[int, ...]:
    """The rigs that are worst off: the stiffest of all bends, then the others' and the darkest."""
    stiffest = sorted(presses, key=lambda press: float(press.least_k.min()))
    places = [int(press.least_k.argmin()) for press in stiffest]
    return tuple(dict.fromkeys([*places, int(seen.dose_min.max(axis=0).argmax())]))


def _worth(one: Candidate) -> tuple[float, float]:
    """How good a way is: soft by the stiff end of the curve too, with a reserve; then the hotter, for wood
    that is bent hotter springs back less.
    """
    softness_k = min(one.least_spread_k.low, 0.0) + min(one.least_k.low, RESERVE_K)
    return round(softness_k), one.tried.target_c


def _all_of(values: F64) -> Band:
    """The whole band: lowest, middle and highest of all rigs."""
    return Band(*(round(float(value), 3) for value in np.percentile(values, (0.0, 50.0, 100.0))))


def _colour(dose_min: F64, hottest_c: F64) -> ColourFigures:
    minutes, hottest = _all_of(dose_min), _all_of(hottest_c)
    ranks = sorted(
        SHADES.index(shade(float(dose), float(hot))) for dose, hot in zip(dose_min, hottest_c, strict=True)
    )
    return ColourFigures(
        minutes, hottest, (SHADES[ranks[0]], SHADES[ranks[len(ranks) // 2]], SHADES[ranks[-1]])
    )
