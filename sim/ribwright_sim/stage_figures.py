"""What one rig's run did to the wood, stage by stage and at each bend, and all rigs' figures as bands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .colour import minutes_so_far
from .ensemble import Track
from .scenario import FORM_AFTER_MS
from .softening import margin_k

F64 = NDArray[np.float64]

# Ends of a band: 5 % of the rigs lie below it, 5 % above.
BAND_PERCENT = (5.0, 50.0, 95.0)


@dataclass(frozen=True, slots=True)
class Band:
    """5, 50 and 95 % of the rigs lie below these figures; None where none of them has one."""

    low: float
    mid: float
    high: float


def band(values: Sequence[float]) -> Band | None:
    """Band of one figure over the rigs; rigs without it (NaN) are left out.

    Args:
        values: one entry per rig.

    >>> band([1.0, 2.0, 3.0, float("nan")])
    Band(low=1.1, mid=2.0, high=2.9)
    """
    seen = np.asarray(values, dtype=np.float64)
    seen = seen[~np.isnan(seen)]
    if not seen.size:
        return None
    low, mid, high = np.percentile(seen, BAND_PERCENT)
    return Band(round(float(low), 6), round(float(mid), 6), round(float(high), 6))


@dataclass(frozen=True, slots=True)
class Wood:
    """A track with what follows from it: margin_k above softening and colour index, (n, columns)."""

    track: Track
    margin_k: F64
    colour_min: F64


def wood_of(track: Track) -> Wood:
    """Margin and colour along a run, at the run's own place within the unverified bridges.

    Args:
        track: the run.
    """
    return Wood(
        track,
        margin_k(track.mid_c, track.moisture_percent, track.draw.shift_k),
        minutes_so_far(track.time_s, track.hot_c, track.draw.activation_j_mol),
    )


@dataclass(frozen=True, slots=True)
class StageFigures:
    """One stage over all rigs.

    number: counted from 1. name, kind: of the profile. reached: rigs that came to it. start_s, end_s: of
    the nominal rig, None if it never came there. minutes: how long it took. Per column: soft_s time with
    the middle of the wood above softening, peak_c of its hottest face, and at the stage's end margin_k,
    moisture_percent and colour_min since the start of the run.
    """

    number: int
    name: str
    kind: str
    reached: int
    start_s: float | None
    end_s: float | None
    minutes: Band | None
    soft_s: tuple[Band | None, ...]
    peak_c: tuple[Band | None, ...]
    margin_k: tuple[Band | None, ...]
    moisture_percent: tuple[Band | None, ...]
    colour_min: tuple[Band | None, ...]


@dataclass(frozen=True, slots=True)
class Bend:
    """A hold in which the maker presses, over all rigs; the stiffest of its columns counts.

    stage: counted from 1. columns: places of what is bent. press_margin_k: when the maker first presses.
    soft_after_s: from arrival until it is soft, of the rigs where it gets soft while the hold lasts.
    never_soft: rigs where it does not. best_margin_k: the highest during the hold.
    """

    stage: int
    columns: tuple[int, ...]
    press_margin_k: Band | None
    best_margin_k: Band | None
    soft_after_s: Band | None
    never_soft: int


def stage_figures(woods: Sequence[Wood], stages: Sequence[Mapping[str, object]]) -> list[StageFigures]:
    """Every stage of the profile over all rigs, the first of which is the nominal one.

    Args:
        woods: runs, see wood_of().
        stages: the profile's [[stages]].
    """
    return [_stage(woods, index, stage) for index, stage in enumerate(stages)]


def _stage(woods: Sequence[Wood], index: int, told: Mapping[str, object]) -> StageFigures:
    rows = [np.flatnonzero(wood.track.stage == index) for wood in woods]
    there = [(wood, at) for wood, at in zip(woods, rows, strict=True) if at.size]
    columns = range(woods[0].track.mid_c.shape[1])

    def each(figure: str, *, of: str) -> tuple[Band | None, ...]:
        fields = [getattr(wood if hasattr(wood, figure) else wood.track, figure)[at] for wood, at in there]
        picked = [field[-1] if of == "end" else field.max(axis=0) for field in fields]
        return tuple(band([row[column] for row in picked]) for column in columns)

    # A row stands for the time since the one before it; rows are seconds apart, or more in slow stages.
    waits = [np.diff(wood.track.time_s, prepend=0.0)[at] for wood, at in there]
    soft = [wait @ (wood.margin_k[at] >= 0.0) for (wood, at), wait in zip(there, waits, strict=True)]
    # The controller's own rows are whole seconds.
    lasted = [wood.track.trace.stage.count(index) for wood, _ in there]
    trace = woods[0].track.trace
    nominal = [at_s for at_s, stage in zip(trace.time_s, trace.stage, strict=True) if stage == index]
    return StageFigures(
        number=index + 1,
        name=str(told.get("name", f"{told['kind']} {index + 1}")),
        kind=str(told["kind"]),
        reached=len(there),
        start_s=nominal[0] if nominal else None,
        end_s=nominal[-1] if nominal else None,
        minutes=band([seconds / 60.0 for seconds in lasted]),
        soft_s=tuple(band([float(row[column]) for row in soft]) for column in columns),
        peak_c=each("hot_c", of="peak"),
        margin_k=each("margin_k", of="end"),
        moisture_percent=each("moisture_percent", of="end"),
        colour_min=each("colour_min", of="end"),
    )


def bends(
    woods: Sequence[Wood],
    stages: Sequence[Mapping[str, object]],
    own: Mapping[str, tuple[int, ...]],
) -> list[Bend]:
    """Every hold in which the maker presses: one with cues, or one that the maker ends.

    Args:
        woods: runs, see wood_of().
        stages: the profile's [[stages]].
        own: zone's name to the places of its own columns.
    """
    found = []
    for index, stage in enumerate(stages):
        heated = stage.get("zones")
        if stage["kind"] != "hold" or not isinstance(heated, Sequence):
            continue
        if stage.get("cues") or stage.get("until") == "maker":
            columns = sorted({column for name in heated for column in own[name]})
            found.append(_bend(woods, index, tuple(columns)))
    return found


def _bend(woods: Sequence[Wood], index: int, columns: tuple[int, ...]) -> Bend:
    """The stiffest of some columns while a hold lasts."""
    press, best, soft_after = [], [], []
    reached = 0
    for wood in woods:
        rows = np.flatnonzero(wood.track.stage == index)
        if not rows.size:
            continue
        reached += 1
        margin = wood.margin_k[rows][:, list(columns)].min(axis=1)
        after_s = wood.track.time_s[rows] - wood.track.time_s[rows[0]]
        press.append(float(np.interp(FORM_AFTER_MS / 1000.0, after_s, margin)))
        best.append(float(margin.max()))
        soft = np.flatnonzero(margin >= 0.0)
        if soft.size:
            soft_after.append(float(after_s[soft[0]]))
    return Bend(index + 1, columns, band(press), band(best), band(soft_after), reached - len(soft_after))
