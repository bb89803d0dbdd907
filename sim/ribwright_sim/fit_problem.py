"""Recorded warm-ups beside the fast solver, at any guess of what is not known.

The heat that was recorded is replayed, control is not run again.  Unknowns are counted in standard deviations
of what was believed before.  One batch of the solver gives a log's course and, in its other lanes, how it
changes with each unknown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .fit_parameters import Parameter, Slot, rig_parameters, run_parameters, wood_parameters
from .layout import Stack, stack_for
from .materials import StackError
from .solver import REPLAY, Solver
from .warmup import Warmup, at_times, means, with_wood_junction

F64 = NDArray[np.float64]

# A slope is taken over this many prior standard deviations.
STEP = 0.02


@dataclass(frozen=True, slots=True)
class Seen:
    """One log beside the model, at the values of the moment.

    Attributes:
        end_s: (n,) ends of the windows, since the run's start [s].
        measured_c, model_c: (n, zones).
        slope_c: (n, zones, unknowns) change of the model per prior standard deviation [K].
        middle_c: (n,) middle of the wood by the model [C]; middle_slope_c: (n, unknowns).
        wood_c, wood_model_c: (m,) the second thermocouple; wood_slope_c: (m, unknowns).
    """

    end_s: F64
    measured_c: F64
    model_c: F64
    slope_c: F64
    middle_c: F64
    middle_slope_c: F64
    wood_c: F64
    wood_model_c: F64
    wood_slope_c: F64


class Problem:
    """Logs of one rig with everything that is not known of it."""

    def __init__(
        self, rig: Mapping[str, object], warmups: Sequence[Warmup], *, use_numba: bool | None = None
    ) -> None:
        """Args:
            rig: a rig file's mapping; its [fit] is left out.
            warmups: its logs, at least one, each with all zones of the rig.
            use_numba: whether to compile; absent, whether numba is installed.

        Raises StackError for no logs, or for a rig or piece that cannot be simulated.
        """
        if not warmups:
            raise StackError("missing", "logs", "none", "at least one is needed", "", "name a recorded run")
        self.rig = {key: value for key, value in rig.items() if key != "fit"}
        self.warmups, self._use_numba = tuple(warmups), use_numba
        zones = warmups[0].zones
        slots = [
            Slot(one, zone)
            for one in rig_parameters()
            # One blanket has no neighbour.
            if zones > 1 or one.name != "along"
            for zone in (range(zones) if one.of == "zone" else (-1,))
        ]
        for number, warmup in enumerate(warmups):
            own: list[Parameter] = list(run_parameters(warmup.piece))
            own += wood_parameters() if warmup.wood is not None else ()
            slots += [Slot(one, -1, number) for one in own]
        self.slots = tuple(slots)
        self._shares = [self._padded(warmup) for warmup in warmups]

    def _padded(self, warmup: Warmup) -> F64:
        """The heat with a column for the junction in the wood, which has none."""
        shares = warmup.shares()
        return np.concatenate((shares, np.zeros_like(shares[:, :1])), axis=1)

    def values(self, steps: F64, run: int) -> dict[str, float | Sequence[float]]:
        """The values of one log by the parameters' names, in their units, a list for one of each zone.

        Args:
            steps: (unknowns,) prior standard deviations from nominal, in the order of `slots`.
            run: position of the log.
        """
        found: dict[str, float | Sequence[float]] = {}
        for slot, step in zip(self.slots, steps, strict=True):
            value = slot.parameter.value(float(step))
            if slot.zone >= 0:
                found[slot.parameter.name] = [*_listed(found.get(slot.parameter.name)), value]
            elif slot.run in (-1, run):
                found[slot.parameter.name] = value
        return found

    def _stack(self, steps: F64, run: int) -> Stack:
        warmup = self.warmups[run]
        values = self.values(steps, run)
        room_c = warmup.start_c + float(np.asarray(values["room"]))
        stack = stack_for(self.rig, warmup.piece, ambient_c=room_c, values=values)
        return with_wood_junction(stack, warmup.middle_zone, float(np.asarray(values.get("depth", 0.0))))

    def look(self, steps: F64) -> list[Seen]:
        """Every log beside the model, with slopes; steps: as values()."""
        return [self._look(steps, run) for run in range(len(self.warmups))]

    def _look(self, steps: F64, run: int) -> Seen:
        warmup = self.warmups[run]
        mine = [i for i, slot in enumerate(self.slots) if slot.run in (-1, run)]
        # Slopes are taken inwards, so that no lane leaves the allowed span.
        signs = np.where(steps > 0.0, -1.0, 1.0)
        points = [steps]
        for i in mine:
            moved = steps.copy()
            moved[i] += STEP * signs[i]
            points.append(moved)
        lanes = [self._stack(point, run) for point in points]
        solver = Solver(lanes, control=REPLAY, use_numba=self._use_numba)
        gains: list[list[Mapping[str, float]]] = [[{}] * (warmup.zones + 1)] * len(lanes)
        trace = solver.run(gains, self._shares[run], trace=True).trace_c
        ends_s = warmup.window_ends_s()
        model = means(trace, ends_s, warmup.window_s)
        wood = warmup.wood
        at_s = np.zeros(0) if wood is None else wood.time_s + warmup.lead_s
        late_s = [float(np.asarray(self.values(point, run).get("clock", 0.0))) for point in points]
        beside = np.stack(
            [at_times(trace[:, -1, lane], at_s + late) for lane, late in enumerate(late_s)], axis=-1
        )

        def slopes(found: F64) -> F64:
            every = np.zeros((*found.shape[:-1], len(self.slots)))
            every[..., mine] = (found[..., 1:] - found[..., :1]) / (STEP * signs[mine])
            return every

        return Seen(
            end_s=ends_s - warmup.lead_s,
            measured_c=warmup.measured_c[warmup.fresh()],
            model_c=model[:, :-1, 0],
            slope_c=slopes(model[:, :-1]),
            middle_c=model[:, -1, 0],
            middle_slope_c=slopes(model[:, -1]),
            wood_c=np.zeros(0) if wood is None else wood.wood_c,
            wood_model_c=beside[:, 0],
            wood_slope_c=slopes(beside),
        )


def _listed(value: float | Sequence[float] | None) -> list[float]:
    return list(value) if isinstance(value, Sequence) else []
