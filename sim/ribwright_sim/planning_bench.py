"""Many drawn rigs side by side, a second at a time, each with targets of its own: what a plan is searched on.

The same stacks and steps as the fast solver's, on numpy arrays; control and stages lie outside, so that every
lane may be at another stage.  The law is a plain one that follows a target as the board's own does, within
two or three kelvin: a rehearsal with the board's own controller has the last word.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from . import steps
from .compiled import HAVE_NUMBA, compiled_second
from .ensemble import REDRAWS, Draw
from .filling import fill
from .layout import Stack, stack_for
from .materials import StackError
from .rows import plan

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
BOOL = NDArray[np.bool_]

# Readings that a slope is taken over, a second apart; the board's spans about as much (core.zone).
SLOPE_READINGS = 9
# Gain [1/K], how far ahead the slope looks [s], and integral time [s] of the plain law.
GAIN_PER_K, AHEAD_S, INTEGRAL_S = 0.08, 12.0, 60.0
STEP_S = 1.0
# A target so much higher begins a rise [K], as the board's does (core.zone).
RISE_K = 5.0


def stacks_for(rig: Mapping[str, object], piece: Mapping[str, object], draws: Sequence[Draw]) -> list[Stack]:
    """The stack of every draw, all cut alike.

    Args:
        rig: mapping of a rig file.
        piece: a profile's [piece]; each draw has its own moisture.
        draws: the nominal one first, see ensemble.draws().

    Raises StackError for a stack or piece the simulation cannot take.
    """
    found: list[Stack] = []
    for draw in draws:
        wetted = {**piece, "moisture_percent": draw.moisture_percent}
        for more in range(REDRAWS):
            stack = stack_for(rig, wetted, seed=draw.seed + more if draw.seed else 0)
            if not found or stack.columns == found[0].columns:
                found.append(stack)
                break
        else:
            raise StackError(
                "range", "rig.zones", len(draws), "no drawn rig is cut alike", "", "check the lengths"
            )
    return found


class Lanes:
    """Stacks that are stepped together.

    columns, zones: names. own: per zone, the columns it answers for. now_s: time since the start. shift_k,
    activation_j_mol, moisture_percent: of each lane's draw, (lanes,).
    """

    def __init__(
        self, rig: Mapping[str, object], piece: Mapping[str, object], draws: Sequence[Draw], copies: int
    ) -> None:
        """Args:
            rig, piece, draws: as stacks_for().
            copies: how often all draws are taken, one after another: one for each candidate.

        Raises as stacks_for().
        """
        stacks = stacks_for(rig, piece, draws)
        first = stacks[0]
        self.columns, self.zones, self.own = first.columns, first.zones, first.own
        rows, self._index = plan(first, len(stacks) * copies, 0, 0, dense=False)
        self._rows = rows
        begin = fill(rows, self._index, stacks, None, np.array([draw.mains for draw in draws]))
        self._w = np.zeros((rows.size, rows.lanes))
        self._w[: len(begin)] = np.tile(begin, copies)
        self.now_s = 0.0
        self.shift_k = np.tile([draw.shift_k for draw in draws], copies)
        self.activation_j_mol = np.tile([draw.activation_j_mol for draw in draws], copies)
        shape = (rows.zones, rows.lanes)
        self._integral, self._best = np.zeros(shape), np.zeros(shape)
        self._rising = np.zeros(shape, dtype=np.bool_)
        self._old_c = np.full(shape, -np.inf)
        self._seen = [self.junction_c()]
        self._second = compiled_second() if HAVE_NUMBA else steps.second

    @property
    def count(self) -> int:
        """How many lanes there are."""
        return int(self._w.shape[1])

    def junction_c(self) -> F64:
        """What the thermocouples are at, (zones, lanes) [C]."""
        junction: F64 = self._w[self._rows.junction : self._rows.junction + self._rows.zones].copy()
        return junction

    def keep(self, lanes: I64) -> None:
        """Go on with these lanes alone, in this order."""
        self._w = np.ascontiguousarray(self._w[:, lanes])
        self._rows = self._rows._replace(lanes=len(lanes))
        for name in ("_integral", "_best", "_rising", "_old_c"):
            setattr(self, name, getattr(self, name)[:, lanes])
        self._seen = [seen[:, lanes] for seen in self._seen]
        self.shift_k, self.activation_j_mol = self.shift_k[lanes], self.activation_j_mol[lanes]

    def press(self, zone: int, where: BOOL) -> None:
        """The strip meets the form along a zone's own columns, in some lanes; where it lies, nothing."""
        r = self._rows
        for column in self.own[zone]:
            first = r.met + column * r.cells
            met = self._w[first : first + r.cells]
            met[:, where] = np.minimum(met[:, where], self.now_s)

    def advance(self, targets_c: F64) -> None:
        """One second of all lanes.

        Args:
            targets_c: (zones, lanes) [C], not a number where no heat is wanted.
        """
        w, r = self._w, self._rows
        duty = self._duty(targets_c)
        w[r.duty : r.duty + r.zones] = duty
        past_s = STEP_S if self.now_s else 0.0
        self._second(w, r, self._index, self.now_s, past_s, STEP_S)
        self.now_s += STEP_S
        self._seen = [*self._seen[1 - SLOPE_READINGS :], self.junction_c()]

    def _duty(self, targets_c: F64) -> F64:
        """Share of its power that each blanket gets, (zones, lanes)."""
        now_c, count = self._seen[-1], len(self._seen)
        place = np.arange(count) - 0.5 * (count - 1)
        slope = np.tensordot(place, np.stack(self._seen), 1) / max(float(place @ place) * STEP_S, 1.0)
        wanted = ~np.isnan(targets_c)
        target_c = np.where(wanted, targets_c, 0.0)
        begin = wanted & (target_c > self._old_c + RISE_K)
        self._rising |= begin
        self._best = np.where(begin, 0.0, self._best)
        self._old_c = np.where(wanted, target_c, -np.inf)
        self._best = np.where(self._rising, np.maximum(self._best, slope), self._best)
        guess = np.clip(1.0 - slope / np.maximum(self._best, 1e-3), 0.0, 1.0)
        before = np.where(self._rising, guess, self._integral)
        away_k = target_c - now_c
        raw = GAIN_PER_K * (away_k - AHEAD_S * slope) + before
        self._rising &= raw >= 1.0
        inside = (raw > 0.0) & (raw < 1.0)
        after = np.clip(before + inside * GAIN_PER_K * away_k * STEP_S / INTEGRAL_S, 0.0, 1.0)
        self._integral = np.where(wanted, np.where(self._rising, guess, after), 0.0)
        return np.where(wanted, np.clip(raw, 0.0, 1.0), 0.0)

    def wood(self) -> tuple[F64, F64, F64]:
        """Middle [C], hottest place [C] and mean bound moisture [%] of the wood, each (columns, lanes)."""
        w, r = self._w, self._rows
        wood = slice(r.wood_first, r.wood_first + r.wood_count)
        cells = slice(r.state, r.state + r.chain)
        at_c = w[cells] * w[r.inverse : r.inverse + r.chain]
        at_c = at_c.reshape(r.columns, r.cells, -1)[:, wood]
        bound = w[r.bound : r.bound + r.chain].reshape(r.columns, r.cells, -1)[:, wood]
        middle = r.wood_count // 2
        # The faces lie half a cell further out.
        inner_c, outer_c = 1.5 * at_c[:, 0] - 0.5 * at_c[:, 1], 1.5 * at_c[:, -1] - 0.5 * at_c[:, -2]
        hot_c = np.maximum(at_c.max(axis=1), np.maximum(inner_c, outer_c))
        return 0.5 * (at_c[:, middle - 1] + at_c[:, middle]), hot_c, bound.mean(axis=1)
