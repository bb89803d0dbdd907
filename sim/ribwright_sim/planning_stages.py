"""A bend's stages on many lanes at once: every lane at its own pace, as the board's own stages go.

The maker is the rehearsed one: presses 5 s after a cue, acknowledges it after 30 s, then goes on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.midwood import WoodEstimate
from ribwright_board.core.profile import BAND_K

from .colour import REFERENCE_C
from .effects import KELVIN
from .planning_bench import STEP_S, Lanes
from .scenario import FORM_AFTER_MS, NEXT_AFTER_MS
from .softening import softens_at_c
from .wood import GAS_J_PER_MOL_K

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
BOOL = NDArray[np.bool_]

FORM_S, NEXT_S = FORM_AFTER_MS / 1000.0, NEXT_AFTER_MS / 1000.0
# Estimated above its limit for so long, the wood ends a hold.
WOOD_S = 5
# So far below its softening the wood has taken its shape: half of the transition's spread. PROPOSAL.
SETTLED_K = 10.0


@dataclass(frozen=True, slots=True)
class Step:
    """One stage on all lanes.

    kind: "ramp", "hold" (timed), "wood" (a hold that ends by the estimate), "press" (cues, then next) or
    "set". zones: places. target_c: (lanes,). minutes: (lanes,) of a hold, 0 passes it by. mid_wood_c:
    (lanes,) of a hold by the wood, not a number passes it by. cues: of a press.
    """

    kind: str
    zones: tuple[int, ...]
    target_c: F64
    minutes: F64 | None = None
    mid_wood_c: F64 | None = None
    cues: int = 0


@dataclass(slots=True)
class Pressed:
    """One press on all lanes, (lanes,) each; not a number where it was not come to.

    first_k: margin above softening as the strip is first pressed. least_k: the least until the last cue is
    acknowledged. soft_s: from the cue until the wood stiffens, at most until the maker goes on. start_s:
    when its cue came. Margins are by the middle of the softening curve; the stiffest of its columns counts.
    """

    columns: tuple[int, ...]
    first_k: F64
    least_k: F64
    soft_s: F64
    start_s: F64


@dataclass(slots=True)
class Progress:
    """Where the lanes are and what the wood has seen.

    at: (lanes,) stage. since_s: time in it. dose_min: (columns, lanes) minutes at 177 C. hottest_c: (columns,
    lanes). highest_c: (zones, lanes) of the thermocouples. settled_s: (lanes,) time in the set until the wood
    is SETTLED_K below softening everywhere, not a number until then.
    """

    at: I64
    since_s: F64
    in_band_s: F64
    above_s: F64
    dose_min: F64
    hottest_c: F64
    highest_c: F64
    settled_s: F64
    presses: dict[int, Pressed] = field(default_factory=dict)


class Stages:
    """Runs steps on lanes.

    lanes: stepped by it. progress: see Progress.
    """

    def __init__(
        self, lanes: Lanes, program: Sequence[Step], estimates: Mapping[int, Sequence[WoodEstimate]]
    ) -> None:
        """Args:
        lanes: at their start.
        program: the stages in their order.
        estimates: by the first zone of a "wood" step, per lane the board's estimate; a step without one
            is passed by.
        """
        self.lanes, self.program, self.estimates = lanes, list(program), dict(estimates)
        n, columns, zones = lanes.count, len(lanes.columns), len(lanes.zones)
        nought = np.zeros(n)
        self.progress = Progress(
            at=np.zeros(n, dtype=np.int64),
            since_s=nought.copy(),
            in_band_s=nought.copy(),
            above_s=nought.copy(),
            dose_min=np.zeros((columns, n)),
            hottest_c=np.zeros((columns, n)),
            highest_c=np.zeros((zones, n)),
            settled_s=np.full(n, np.nan),
        )
        for place, step in enumerate(self.program):
            if step.kind == "press":
                own = tuple(sorted({column for zone in step.zones for column in lanes.own[zone]}))
                self.progress.presses[place] = Pressed(own, *(np.full(n, np.nan) for _ in range(4)))

    def run_until(self, stage: int, limit_s: float) -> None:
        """Go on until every lane has come to a stage, or for so long from now.

        Args:
            stage: its place.
            limit_s: at most so many seconds more.
        """
        end_s = self.lanes.now_s + limit_s
        while self.lanes.now_s < end_s and bool((self.progress.at < stage).any()):
            self.second()

    def set_until_settled(self, limit_s: float) -> None:
        """Go on until the wood has settled in every lane, or for so long from now.

        Args:
            limit_s: at most so many seconds more.
        """
        end_s = self.lanes.now_s + limit_s
        while self.lanes.now_s < end_s and bool(np.isnan(self.progress.settled_s).any()):
            self.second()

    def keep(self, lanes: I64) -> None:
        """Go on with these lanes alone, in this order."""
        self.lanes.keep(lanes)
        for name in (
            "at",
            "since_s",
            "in_band_s",
            "above_s",
            "dose_min",
            "hottest_c",
            "highest_c",
            "settled_s",
        ):
            setattr(self.progress, name, getattr(self.progress, name)[..., lanes])
        for pressed in self.progress.presses.values():
            for name in ("first_k", "least_k", "soft_s", "start_s"):
                setattr(pressed, name, getattr(pressed, name)[lanes])
        self.program = [
            replace(
                step,
                target_c=step.target_c[lanes],
                minutes=None if step.minutes is None else step.minutes[lanes],
                mid_wood_c=None if step.mid_wood_c is None else step.mid_wood_c[lanes],
            )
            for step in self.program
        ]
        self.estimates = {zone: [some[lane] for lane in lanes] for zone, some in self.estimates.items()}

    def second(self) -> None:
        """One second of all lanes, and what it changes."""
        lanes, seen = self.lanes, self.progress
        lanes.advance(self._targets_c())
        mid_c, hot_c, moisture = lanes.wood()
        margin_k = mid_c - softens_at_c(moisture)
        seen.hottest_c = np.maximum(seen.hottest_c, hot_c)
        inverse = 1.0 / (hot_c + KELVIN) - 1.0 / (REFERENCE_C + KELVIN)
        seen.dose_min += np.exp(-lanes.activation_j_mol / GAS_J_PER_MOL_K * inverse) * STEP_S / 60.0
        junction_c = lanes.junction_c()
        seen.highest_c = np.maximum(seen.highest_c, junction_c)
        seen.since_s += STEP_S
        over = np.zeros(lanes.count, dtype=np.bool_)
        for place, step in enumerate(self.program):
            here = seen.at == place
            if here.any() or step.kind == "wood":
                over |= here & self._over(place, step, here, junction_c, margin_k)
        seen.at[over] += 1
        for values in (seen.since_s, seen.in_band_s, seen.above_s):
            values[over] = 0.0

    def _targets_c(self) -> F64:
        """What every zone of every lane is to be at now."""
        targets_c = np.full((len(self.lanes.zones), self.lanes.count), np.nan)
        for place, step in enumerate(self.program):
            here = self.progress.at == place
            for zone in step.zones:
                targets_c[zone, here] = step.target_c[here]
        return targets_c

    def _over(self, place: int, step: Step, here: BOOL, junction_c: F64, margin_k: F64) -> BOOL:
        """Which lanes are through with a stage; only those that are there count."""
        seen, zones = self.progress, list(step.zones)
        away_k = np.abs(junction_c[zones] - step.target_c).max(axis=0)
        if step.kind == "ramp":
            return np.asarray(away_k <= BAND_K["ramp"])
        if step.kind == "hold" and step.minutes is not None:
            seen.in_band_s += here * (away_k <= BAND_K["hold"]) * STEP_S
            return np.asarray((seen.in_band_s >= 60.0 * step.minutes) | (step.minutes <= 0.0))
        if step.kind == "wood" and step.mid_wood_c is not None:
            return self._by_wood(place, step, here, junction_c)
        if step.kind == "press":
            self._press(place, step, here, margin_k)
            return np.asarray(seen.since_s >= NEXT_S * (step.cues + 1))
        settled = here & (margin_k.max(axis=0) <= -SETTLED_K) & np.isnan(seen.settled_s)
        seen.settled_s[settled] = seen.since_s[settled]
        return np.zeros(self.lanes.count, dtype=np.bool_)

    def _by_wood(self, place: int, step: Step, here: BOOL, junction_c: F64) -> BOOL:
        """The board's estimate of the wood's middle, second by second, in the lanes that ask for it."""
        zone, seen = step.zones[0], self.progress
        estimates, limit_c = self.estimates.get(zone), step.mid_wood_c
        if limit_c is None or estimates is None:
            return np.ones(self.lanes.count, dtype=np.bool_)
        for lane in np.flatnonzero(~np.isnan(limit_c) & (seen.at <= place)).tolist():
            estimates[lane].second(float(junction_c[zone, lane]))
            estimate_c = estimates[lane].mid_c
            warm = here[lane] and estimate_c is not None and estimate_c >= limit_c[lane]
            seen.above_s[lane] = seen.above_s[lane] + STEP_S if warm else 0.0
        return np.isnan(limit_c) | (seen.above_s >= WOOD_S)

    def _press(self, place: int, step: Step, here: BOOL, margin_k: F64) -> None:
        """The strip is bent, in the lanes that are there: how soft it is meanwhile."""
        seen, pressed = self.progress, self.progress.presses[place]
        since_s = seen.since_s
        stiffest_k = margin_k[list(pressed.columns)].min(axis=0)
        first = here & np.isnan(pressed.start_s)
        pressed.start_s[first] = self.lanes.now_s - since_s[first]
        bending = here & (since_s >= FORM_S) & (since_s <= NEXT_S * step.cues)
        pressed.first_k[bending & np.isnan(pressed.first_k)] = stiffest_k[bending & np.isnan(pressed.first_k)]
        pressed.least_k[bending] = np.fmin(pressed.least_k[bending], stiffest_k[bending])
        soft = here & (stiffest_k >= 0.0) & ~(pressed.soft_s < since_s - 1.5)
        pressed.soft_s[soft] = since_s[soft]
        pressed.soft_s[here & np.isnan(pressed.soft_s)] = 0.0
        for zone in step.zones:
            self.lanes.press(zone, here & (since_s >= FORM_S))
