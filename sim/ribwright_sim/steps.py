"""A step, the field of a relay's pulse, a whole run with its control inside: for two ways, as kernels.py.

`w`, `r`, `ix`, `z`, `state`, `junction` and `stiff` are what kernels.py says of them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .controller_kernel import control
from .kernels import (
    BLEND,
    GAMMA,
    PULSE_STEPS,
    at,
    drying,
    drying_slopes,
    each_lane,
    factorise,
    join,
    look_ahead,
    outer_terms,
    scale_sources,
    settle_water,
    span,
    wood_ahead,
)
from .rows import FIGURE_ROWS, Index, Rows

F64 = NDArray[np.float64]


def push_relays(w: F64, r: Rows, ix: Index) -> None:
    """Add what each zone's blanket gives in this step: `share` of full power."""
    for e in range(r.heated):
        row, z = ix.heated[e, 0], ix.heated[e, 1]
        for j in each_lane(r.lanes):
            w[r.push + row, j] = w[r.rest + e, j] + w[r.share + z, j] * w[r.heat + e, j]


def sweep_in(w: F64, r: Rows, state: int) -> None:
    """Eliminate the first stage's right side from the last row to the first."""
    for i in range(r.chain - 1, -1, -1):
        for j in each_lane(r.lanes):
            w[r.middle + i, j] = (
                w[state + i, j] + w[r.push + i, j] + w[r.factor + i, j] * w[r.middle + i + 1, j]
            )


def sweep_out(w: F64, r: Rows, state: int) -> None:
    """The first stage from the first row to the last, and with it the second stage's right side."""
    for i in range(r.chain):
        for j in each_lane(r.lanes):
            stage = w[r.weight + i, j] * w[r.middle + i, j] + w[r.factor + i - 1, j] * w[r.stage + i - 1, j]
            w[r.stage + i, j] = stage
            w[r.middle + i, j] = (1.0 - BLEND) * w[state + i, j] + BLEND * stage + w[r.push + i, j]


def sweep_back(w: F64, r: Rows) -> None:
    """Eliminate the second stage's right side."""
    for i in range(r.chain - 2, -1, -1):
        for j in each_lane(r.lanes):
            w[r.middle + i, j] += w[r.factor + i, j] * w[r.middle + i + 1, j]


def sweep_end(w: F64, r: Rows, state: int) -> None:
    """The second stage, which is the end of the step, with the first zone's pulse."""
    for i in range(r.chain):
        for j in each_lane(r.lanes):
            stage = w[r.weight + i, j] * w[r.middle + i, j] + w[r.factor + i - 1, j] * w[r.stage + i - 1, j]
            w[r.stage + i, j] = stage
            w[state + i, j] = stage + w[r.kick, j] * w[r.pulse + i, j]
    for z in range(1, r.zones):
        for i in span(0, r.chain):
            for j in each_lane(r.lanes):
                w[at(state, i), j] += w[r.kick + z, j] * w[at(r.pulse + z * r.chain, i), j]


def tally(w: F64, r: Rows, part: float) -> None:
    """Count `part` of the present stage into the mean the drying is settled with."""
    for c in range(r.columns):
        first = c * r.cells + r.wood_first
        for i in span(first, first + r.wood_count):
            for j in each_lane(r.lanes):
                w[at(r.total, i), j] += part * w[at(r.stage, i), j]


def lag_first(w: F64, r: Rows, ix: Index, stage_s: float, junction: int) -> None:
    """First stage of the junctions at rows `junction`, from the first stage of the chain."""
    for z in range(r.zones):
        cell = ix.junction[z]
        for j in each_lane(r.lanes):
            there = w[r.near + z, j] * w[r.stage + cell, j] + w[r.next + z, j] * w[r.stage + cell + 1, j]
            q = stage_s / w[r.junction_lag + z, j]
            w[r.junction_stage + z, j] = (w[junction + z, j] + q * there) / (1.0 + q)


def lag_end(w: F64, r: Rows, ix: Index, stage_s: float, junction: int) -> None:
    """End of the step of the junctions; their mean over the step lies in `step_mean`."""
    for z in range(r.zones):
        cell = ix.junction[z]
        for j in each_lane(r.lanes):
            there = w[r.near + z, j] * w[r.stage + cell, j] + w[r.next + z, j] * w[r.stage + cell + 1, j]
            q = stage_s / w[r.junction_lag + z, j]
            first = w[r.junction_stage + z, j]
            end = ((1.0 - BLEND) * w[junction + z, j] + BLEND * first + q * there) / (1.0 + q)
            w[r.step_mean + z, j] = (1.0 - GAMMA) * first + GAMMA * end
            w[junction + z, j] = end
    for y in range(r.zones):
        for z in range(r.zones):
            for j in each_lane(r.lanes):
                w[junction + z, j] += w[r.kick + y, j] * w[r.junction_pulse + y * r.zones + z, j]


def step(w: F64, r: Rows, ix: Index, stage_s: float, stiff: bool) -> None:
    """One step of chain and junctions; `stage_s` is GAMMA times its length [s]."""
    push_relays(w, r, ix)
    sweep_in(w, r, r.state)
    sweep_out(w, r, r.state)
    lag_first(w, r, ix, stage_s, r.junction)
    if stiff:
        tally(w, r, 1.0 - GAMMA)
    sweep_back(w, r)
    sweep_end(w, r, r.state)
    lag_end(w, r, ix, stage_s, r.junction)
    if stiff:
        tally(w, r, GAMMA)


def pulse_fields(w: F64, r: Rows, ix: Index, step_s: float) -> None:
    """What full power rising from -1 to 1 over one step leaves behind at its end, zone by zone."""
    stage_s = GAMMA * step_s / PULSE_STEPS
    factorise(w, r, stage_s, r.cells)
    for z in range(r.zones):
        for j in each_lane(r.lanes):
            w[r.kick + z, j] = 0.0
    for z in range(r.zones):
        state, junction = r.pulse + z * r.chain, r.junction_pulse + z * r.zones
        for i in range(r.chain):
            for j in each_lane(r.lanes):
                w[r.push + i, j] = 0.0
        for k in range(PULSE_STEPS):
            # The source is a straight line in time, so each stage has its own.
            early = 2.0 * (k + GAMMA) / PULSE_STEPS - 1.0
            rise = 2.0 * (1.0 - GAMMA) / PULSE_STEPS
            for e in range(r.heated):
                row = ix.heated[e, 0]
                mine = 1.0 if ix.heated[e, 1] == z else 0.0
                for j in each_lane(r.lanes):
                    w[r.push + row, j] = mine * early * w[r.heat + e, j] / PULSE_STEPS
            sweep_in(w, r, state)
            sweep_out(w, r, state)
            lag_first(w, r, ix, stage_s, junction)
            for e in range(r.heated):
                row = ix.heated[e, 0]
                mine = 1.0 if ix.heated[e, 1] == z else 0.0
                for j in each_lane(r.lanes):
                    w[r.middle + row, j] += mine * rise * w[r.heat + e, j] / PULSE_STEPS
            sweep_back(w, r)
            sweep_end(w, r, state)
            lag_end(w, r, ix, stage_s, junction)


def scale_heat(w: F64, r: Rows, ix: Index, stage_s: float) -> None:
    """What full power pushes into every heated row in one stage; the blankets' cells never change."""
    for e in range(r.heated):
        for j in each_lane(r.lanes):
            w[r.heat + e, j] = stage_s * w[r.inverse + ix.heated[e, 0], j] * w[r.flux + e, j]


def refresh(
    w: F64,
    r: Rows,
    ix: Index,
    now_s: float,
    past_s: float,
    span_s: float,
    step_s: float,
    stiff: bool,
) -> None:
    """Fresh coefficients for the next `span_s` [s]; `past_s` [s] went by since the last, 0 at the start."""
    first = past_s == 0.0
    if not first:
        settle_water(w, r, past_s, past_s / step_s)
    look_ahead(w, r, 1.0 if first else past_s, span_s)
    wood_ahead(w, r, span_s)
    drying(w, r)
    if stiff:
        drying_slopes(w, r)
    middle_s = now_s + 0.5 * span_s
    outer_terms(w, r, ix, middle_s)
    # Beyond the wood's last joint nothing changes after the start.
    depth = r.cells if first else r.wood_first + r.wood_count + 1
    join(w, r, ix, middle_s, depth)
    if first:
        scale_heat(w, r, ix, GAMMA * step_s)
        pulse_fields(w, r, ix, step_s)
        depth = r.cells
    factorise(w, r, GAMMA * step_s, depth)
    scale_sources(w, r, ix, GAMMA * step_s)


def second(w: F64, r: Rows, ix: Index, now_s: float, past_s: float, step_s: float) -> None:
    """One step of `step_s` [s] with coefficients of its own, each blanket at its `duty` from the start on."""
    refresh(w, r, ix, now_s, past_s, step_s, step_s, stiff=True)
    for z in range(r.zones):
        for j in each_lane(r.lanes):
            w[r.share + z, j] = w[r.duty + z, j]
            w[r.kick + z, j] = 3.0 * w[r.duty + z, j] * (w[r.duty + z, j] - 1.0)
    step(w, r, ix, GAMMA * step_s, stiff=True)


def begin_window(w: F64, r: Rows, z: int) -> None:
    """The mean of a zone's next window is yet to be summed."""
    for j in each_lane(r.lanes):
        w[r.junction_mean + z, j] = 0.0


def judge(w: F64, r: Rows, z: int, target_c: float, now_s: float, band_k: float, share: float) -> None:
    """Bring figures and mean of a zone up to date at the end of a step, a `share` of its window."""
    f = r.figures + z * FIGURE_ROWS
    for j in each_lane(r.lanes):
        w[r.junction_mean + z, j] += share * w[r.step_mean + z, j]
        w[f, j] = np.maximum(w[f, j], w[r.junction + z, j])
    if target_c == target_c:
        for j in each_lane(r.lanes):
            away_k = w[r.junction + z, j] - target_c
            arrived = np.where((w[f + 3, j] < 0.0) & (away_k >= -band_k), now_s, w[f + 3, j])
            w[f + 2, j] = np.maximum(w[f + 2, j], away_k)
            w[f + 3, j] = arrived  # arrival; next, the sum of squares since
            w[f + 5, j] += np.where(arrived >= 0.0, away_k * away_k, 0.0)


def judge_window(
    w: F64, r: Rows, z: int, target_c: float, now_s: float, band_k: float, window_s: float
) -> None:
    """The same at the end of a window: on-time, and the last moment outside the band."""
    f = r.figures + z * FIGURE_ROWS
    for j in each_lane(r.lanes):
        w[f + 1, j] += window_s * w[r.duty + z, j]
    if target_c == target_c:
        for j in each_lane(r.lanes):
            # A long window swings by itself: outside is where its mean is, and its end as well.
            end_k = np.abs(w[r.junction + z, j] - target_c)
            mean_k = np.abs(w[r.junction_mean + z, j] - target_c)
            inside = np.minimum(end_k, mean_k) <= band_k
            w[f + 4, j] = np.where(inside, w[f + 4, j], now_s)


def run(
    w: F64,
    r: Rows,
    ix: Index,
    targets_c: F64,
    trace_c: F64,
    step_s: float,
    steps_per_window: int,
    refresh_steps: int,
    band_k: float,
    stiff: bool,
) -> None:
    """A whole run from the start: control, relays, steps, figures.

    Args:
        w: the filled array.
        r: its rows.
        ix: its lists.
        targets_c: (windows, zones), not a number where no heat is wanted [C].
        trace_c: (windows + 1, zones, lanes) for the junctions at every window's end, or of length 0.
        step_s: length of a step [s].
        steps_per_window: steps in one relay window.
        refresh_steps: steps between two refreshes of the coefficients.
        band_k: the figures' band [K].
        stiff: take the slope of the drying into the step, and settle it with the step's own mean.
    """
    window_s = step_s * steps_per_window
    count = 0
    for k in range(targets_c.shape[0]):
        for z in range(r.zones):
            control(w, r, z, targets_c[k, z])
            begin_window(w, r, z)
        for s in range(steps_per_window):
            if count % refresh_steps == 0:
                past_s = step_s * refresh_steps if count else 0.0
                refresh(w, r, ix, count * step_s, past_s, step_s * refresh_steps, step_s, stiff)
            for z in range(r.zones):
                for j in each_lane(r.lanes):
                    share = np.minimum(np.maximum(w[r.duty + z, j] * steps_per_window - s, 0.0), 1.0)
                    w[r.share + z, j] = share
                    w[r.kick + z, j] = 3.0 * (share * share - share)
            step(w, r, ix, GAMMA * step_s, stiff)
            count += 1
            for z in range(r.zones):
                judge(w, r, z, targets_c[k, z], count * step_s, band_k, 1.0 / steps_per_window)
        for z in range(r.zones):
            judge_window(w, r, z, targets_c[k, z], (k + 1) * window_s, band_k, window_s)
            if len(trace_c):
                for j in each_lane(r.lanes):
                    trace_c[k + 1, z, j] = w[r.junction + z, j]
