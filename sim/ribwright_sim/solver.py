"""The fast solver: any number of stacks at once, with their control inside.

`Solver` takes the same stacks and laws as the virtual rig's plant.  With numba installed a run is compiled,
else the same functions run on numpy arrays; both agree to round-off.  One stack is the scalar path.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .compiled import HAVE_NUMBA, compiled_run, plain_run
from .controller_kernel import (
    PID_GAINS,
    PID_MEMORY,
    ZONE_GAINS,
    ZONE_MEMORY,
    pid_control,
    replay_control,
    zone_control,
)
from .filling import fill
from .lanes import BLOCK_LANES, NUMPY_LANES
from .laws import BENCH, Laws
from .layout import Stack
from .materials import StackError
from .rows import FIGURE_ROWS, Index, Rows, plan

F64 = NDArray[np.float64]

# Far apart in the generator's row of numbers, prime to its length.
NOISE_APART = 104729.0


@dataclass(frozen=True, slots=True)
class Scheme:
    """How finely a run is stepped.

    Attributes:
        step_s: length of a step; a relay window is a whole number of steps [s].
        refresh_steps: steps between two refreshes of properties, losses and drying.
        stiff: take the slope of the drying into each step; the laws of `laws.BENCH` need it near 100 C.
    """

    step_s: float = 1.0
    refresh_steps: int = 1
    stiff: bool = True


@dataclass(frozen=True, slots=True)
class Control:
    """A law of controller_kernel.py, names of its memory and gains, what of memory does not start at 0, and
    gains that may be left out.
    """

    law: Callable[..., None]
    memory: tuple[str, ...]
    gains: tuple[str, ...]
    start: Mapping[str, float]
    optional: tuple[str, ...] = ()


PID = Control(pid_control, PID_MEMORY, PID_GAINS, {})
# Shares of full power stand in place of targets; nothing is decided.
REPLAY = Control(replay_control, (), ("window_s",), {})
ZONE = Control(
    zone_control, ZONE_MEMORY, ZONE_GAINS, {"old_target_c": float("nan")}, optional=("noise_k", "fixed")
)


@dataclass(frozen=True, slots=True)
class Runs:
    """What came out; arrays are (zones, lanes) unless stated.

    Attributes:
        highest_c: highest junction temperature at a step's end [C].
        full_power_s: what the on-time adds up to [s].
        overshoot_k: highest above the target of its moment, 0 at least.
        arrive_s: first step's end not below the band [s]; not a number for never.
        outside_s: end of the last window that is outside the band, its mean as well as its end [s].
        square_sum_k2: sum of squared deviations at steps' ends since arrival [K2].
        junction_c: at the end [C].
        cell_c: (cells of all columns, lanes) at the end [C].
        bound_percent, free_percent: as cell_c, at the last refresh, 0 outside the wood [% of ovendry mass].
        trace_c: (windows + 1, zones, lanes) junctions [C]; of length 0 unless asked for.
    """

    highest_c: F64
    full_power_s: F64
    overshoot_k: F64
    arrive_s: F64
    outside_s: F64
    square_sum_k2: F64
    junction_c: F64
    cell_c: F64
    bound_percent: F64
    free_percent: F64
    trace_c: F64


class Solver:
    """Stacks read and laid out once, to be run with any gains and targets."""

    def __init__(
        self,
        stacks: Sequence[Stack],
        *,
        laws: Laws = BENCH,
        control: Control = ZONE,
        scheme: Scheme | None = None,
        window_s: float = 1.0,
        start_c: float | None = None,
        mains: float = 1.0,
        use_numba: bool | None = None,
    ) -> None:
        """Args:
            stacks: all of one shape.
            laws: what the cells obey. control: what decides the duties.
            scheme: how finely; absent, one-second steps with fresh coefficients at each.
            window_s: relay and control window [s].
            start_c: temperature of all sides at the start [C]; absent, their rooms'.
            mains: volts over rated.
            use_numba: absent, whether it is installed.

        Raises StackError for no stacks, stacks of several shapes, or a window of no whole steps.
        """
        self._scheme = scheme or Scheme()
        self._per_window = round(window_s / self._scheme.step_s)
        if self._per_window < 1 or abs(self._per_window * self._scheme.step_s - window_s) > 1e-9 * window_s:
            raise StackError(
                "range", "scheme.step_s", self._scheme.step_s, f"must divide {window_s:g}", "s", "shorten it"
            )
        if not stacks:
            raise StackError("missing", "stacks", "none", "at least one is needed", "", "give one")
        self._laws, self._control, self._window_s = laws, control, window_s
        self._compiled = HAVE_NUMBA if use_numba is None else use_numba
        rows, index = self._plan(stacks[0], len(stacks), dense=False)
        self._first = stacks[0]
        self._ways: dict[int, tuple[Rows, Index, Callable[..., None]]] = {}
        self._stacks = len(stacks)
        self._begin = fill(rows, index, stacks, start_c, np.full(len(stacks), mains))

    def _plan(self, first: Stack, lanes: int, *, dense: bool) -> tuple[Rows, Index]:
        return plan(first, lanes, len(self._control.memory), len(self._control.gains), dense=dense)

    def _way(self, width: int) -> tuple[Rows, Index, Callable[..., None]]:
        """Rows, lists and run for blocks of `width` lanes; made once."""
        if width not in self._ways:
            dense = width == 1 and not self._compiled
            rows, index = self._plan(self._first, width, dense=dense)
            if self._compiled:
                fast = compiled_run(self._laws, self._control.law, rows)
                self._ways[width] = rows, index, lambda w, *how: fast(w.reshape(-1), index, *how)
            else:
                plain = plain_run(self._laws, self._control.law, dense)
                self._ways[width] = rows, index, lambda w, *how: plain(w, rows, index, *how)
        return self._ways[width]

    def run(
        self,
        gains: Sequence[Sequence[Mapping[str, float]]],
        targets_c: F64,
        *,
        lanes: Sequence[int] | None = None,
        met_form_s: F64 | None = None,
        band_k: float = 2.0,
        trace: bool = False,
        threads: int = 1,
    ) -> Runs:
        """Run every lane from the start through the same targets.

        Args:
            gains: per lane and zone, keys as `control.gains`; window_s is filled in.
            targets_c: (windows, zones) [C], not a number where no heat is wanted.
            lanes: which stack each lane has; absent, one lane a stack in order.
            met_form_s: (columns,) when each column meets the form [s], infinite for never; absent, never.
            band_k: what counts as arrived, either side of the target [K].
            trace: keep every window's junction temperatures.
            threads: blocks run at the same time; compiled runs only.

        Raises StackError for gains that are not one set a lane.
        """
        which = np.arange(self._stacks) if lanes is None else np.asarray(lanes)
        count = len(which)
        if len(gains) != count:
            raise StackError("range", "gains", len(gains), f"must be {count}", "lanes", "give one set a lane")
        width = min(count, NUMPY_LANES)
        if self._compiled:
            width = 1 if count == 1 else BLOCK_LANES
        rows, _, advance = self._way(width)
        control = self._control_rows(gains, len(self._first.zones))
        how = (self._scheme.step_s, self._per_window, self._scheme.refresh_steps, band_k, self._scheme.stiff)

        def block(first: int) -> list[F64]:
            # A block that is not full repeats its last lane.
            mine = np.minimum(np.arange(first, first + width), count - 1)
            w = np.zeros((rows.size, width))
            np.take(self._begin, which[mine], axis=1, out=w[: len(self._begin)], mode="clip")
            junction = slice(rows.junction, rows.junction + rows.zones)
            w[rows.gains : rows.gains + rows.zones * rows.gain_rows] = control[:, mine]
            for z in range(rows.zones):
                self._start_control(
                    w, rows.control + z * rows.control_rows, w[rows.junction + z], which[mine]
                )
                figures = rows.figures + z * FIGURE_ROWS
                w[figures], w[figures + 3] = w[rows.junction + z], -1.0
            if met_form_s is not None:
                w[rows.met : rows.met + rows.chain] = np.repeat(met_form_s, rows.cells)[:, None]
            trace_c = np.zeros((len(targets_c) + 1 if trace else 0, rows.zones, width))
            if trace:
                trace_c[0] = w[junction]
            advance(w, targets_c, trace_c, *how)
            used = slice(0, min(width, count - first))
            figures_ = w[rows.figures : rows.figures + rows.zones * FIGURE_ROWS, used]
            cells = slice(rows.state, rows.state + rows.chain)
            return [
                *figures_.reshape(rows.zones, FIGURE_ROWS, -1).swapaxes(0, 1),
                w[junction, used].copy(),
                w[cells, used] * w[rows.inverse : rows.inverse + rows.chain, used],
                w[rows.bound : rows.bound + rows.chain, used].copy(),
                w[rows.free : rows.free + rows.chain, used].copy(),
                trace_c[:, :, used],
            ]

        firsts = range(0, count, width)
        if threads > 1 and self._compiled:
            with ThreadPoolExecutor(threads) as pool:
                done = list(pool.map(block, firsts))
        else:
            done = [block(first) for first in firsts]
        parts = [np.concatenate(part, axis=-1) for part in zip(*done, strict=True)]
        parts[3] = np.where(parts[3] < 0.0, np.nan, parts[3])
        return Runs(*parts)

    def _control_rows(self, gains: Sequence[Sequence[Mapping[str, float]]], zones: int) -> F64:
        """Gains as rows by lanes, zone by zone."""
        names = self._control.gains
        return np.array(
            [[self._gain(lane[z], name) for lane in gains] for z in range(zones) for name in names]
        )

    def _gain(self, gains: Mapping[str, float], name: str) -> float:
        """One gain of a lane; what only some runs want is nought for the others."""
        if name == "window_s":
            return self._window_s
        return gains.get(name, 0.0) if name in self._control.optional else gains[name]

    def _start_control(self, w: F64, memory: int, junction_c: F64, stacks: NDArray[np.int64]) -> None:
        """The law's first memory; every stack has noise of its own, the same under all gains."""
        for k, name in enumerate(self._control.memory):
            first = {"filtered_c": junction_c, "noise": 1.0 + NOISE_APART * stacks}
            w[memory + k] = first.get(name, self._control.start.get(name, 0.0))
