"""A profile rehearsed: what the wood will reach, where it will be soft, how it will colour and stretch.

All rigs of the ensemble are run by the firmware's own controller; their figures are bands. What rests on
an unverified bridge is named in `BRIDGES`, and whoever shows a figure shows that with it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from . import ensemble
from .colour import SHADES, Shade, shade
from .cut import cut, own_columns
from .stack_file import read_sandwich, read_zones
from .stage_figures import BAND_PERCENT, Band, Bend, StageFigures, Wood, band, bends, stage_figures, wood_of
from .strain import (
    outer_strain_percent,
    strap_compression_percent,
    tension_limit_percent,
    tightest_radius_in_thicknesses,
)

F64 = NDArray[np.float64]

PLANTS, SEED, WORKERS = 12, 20240601, 2
# Names of the series, and which of them rest on an unverified bridge.
SERIES = ("mid_c", "hot_c", "moisture_percent", "margin_k", "colour_min")


@dataclass(frozen=True, slots=True)
class Bridge:
    """A step between published facts that nobody has published: what it is for and what it rests on."""

    name: str
    what: str
    rests_on: str


BRIDGES: tuple[Bridge, ...] = (
    Bridge(
        "softening",
        "softening temperature against moisture, moved by up to 20 K either way",
        "170 C dry (Wood Handbook, FPL-GTR-190, p. 19-1), 60 C wet (Hamdan et al. 2000)",
    ),
    Bridge(
        "colour",
        "minutes at 177 C that would colour the wood the same, 94.9 to 126.4 kJ/mol, and its words",
        "Yan and Morrell 2019; darkening plain to see above 160 C (Feher et al. 2014)",
    ),
    Bridge(
        "stretch",
        "stretch the wood bears, from 1 % stiff to 2 % soft",
        "two states in a summary of wood-forming tests: 17 % water cold, 33 % at 100 C",
    ),
    Bridge(
        "drying",
        "water held by hot wood in vented foil above 100 C, and how fast it leaves",
        "Wood Handbook Eq. 4-5 below 100 C, shifted with the heat of sorption",
    ),
    Bridge(
        "wetting",
        "water in wood called dry, misted, wiped or soaked, 3 points either way",
        "common practice, no source",
    ),
)


@dataclass(frozen=True, slots=True)
class Bands:
    """Low, middle and high of one series over the rigs, each (times, columns)."""

    low: F64
    mid: F64
    high: F64


@dataclass(frozen=True, slots=True)
class Stretch:
    """Outer fibres at the tightest radius.

    column: place of the column that is bent to it. radius_mm: inside. strain_percent: bent about its
    middle. strap_percent: compression of the inner fibres when the slat takes all the stretch.
    limit_percent: what the wood bears when first pressed; best_limit_percent: when softest. least_radius_mm:
    tightest radius for the middle of limit_percent, without a strap. verdict: "within", "near" or "over" the
    limit when first pressed.
    """

    column: int
    radius_mm: float
    thickness_mm: float
    strain_percent: float
    strap_percent: float
    limit_percent: Band
    best_limit_percent: Band
    least_radius_mm: float
    verdict: str


@dataclass(frozen=True, slots=True)
class Colour:
    """One column's colour at the end: index [minutes at 177 C], hottest face [C], words low, mid, high."""

    minutes: Band
    hottest_c: Band
    shades: tuple[Shade, Shade, Shade]


@dataclass(frozen=True, slots=True)
class Trips:
    """One way to be shut down: fault code, zone's name or "rig", stage counted from 1 (0 before), rigs."""

    code: str
    zone: str
    stage: int
    rigs: int


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """Everything a rehearsal found.

    columns, zones: names. over: per column, the places of the zones that heat it. time_s: (n,) since heat
    was allowed. series: SERIES name to bands. targets_c, junctions_c: of the nominal rig, (n, zones).
    stages, bends, stretch (None without a radius), colours (one per column). ending, trip: how the nominal
    rig's run ended, see ensemble.Track. trips: the most frequent first. unfinished: rigs that never ended.
    plants: drawn rigs, beside the nominal one. seed: of the draws.
    """

    columns: tuple[str, ...]
    zones: tuple[str, ...]
    over: tuple[tuple[int, ...], ...]
    time_s: F64
    series: Mapping[str, Bands]
    targets_c: F64
    junctions_c: F64
    stages: tuple[StageFigures, ...]
    bends: tuple[Bend, ...]
    stretch: Stretch | None
    colours: tuple[Colour, ...]
    ending: str
    trip: str
    trips: tuple[Trips, ...]
    unfinished: int
    plants: int
    seed: int


def rehearse(
    rig: Mapping[str, object],
    profile: Mapping[str, object],
    *,
    plants: int = PLANTS,
    seed: int = SEED,
    workers: int = WORKERS,
    progress: Callable[[int, int], None] | None = None,
) -> Rehearsal:
    """Run a profile on the nominal rig and on drawn ones.

    Args:
        rig: mapping of a checked rig file.
        profile: mapping of a checked profile.
        plants: rigs drawn beside the nominal one, 0 to ensemble.MOST_PLANTS.
        seed: of the draws; the same seed gives the same figures.
        workers: processes to share the work.
        progress: called with (rigs done, rigs in all).

    Raises StackError for a stack or piece the simulation cannot take, CheckError for a wrong file.
    """
    piece = cast("Mapping[str, object]", profile["piece"])
    stages = cast("Sequence[Mapping[str, object]]", profile["stages"])
    blankets = read_zones(rig, None)
    zones = tuple(blanket.name for blanket in blankets)
    side = cut(blankets, read_sandwich(rig, None))
    columns = tuple(column.name for column in side)
    jobs = [ensemble.Job(rig, profile, columns, draw) for draw in ensemble.draws(piece, plants, seed)]
    woods = [wood_of(track) for track in ensemble.run_all(jobs, workers=workers, progress=progress)]
    nominal = woods[0].track
    time_s = _common_times(woods)
    rows = min(len(time_s), len(nominal.time_s))
    found = bends(woods, stages, {name: own_columns(side, place) for place, name in enumerate(zones)})
    return Rehearsal(
        columns=columns,
        zones=zones,
        over=tuple(column.zones for column in side),
        time_s=time_s,
        series={name: _bands(woods, name, time_s) for name in SERIES},
        targets_c=_by_zone(nominal.trace.target_c, len(zones))[:rows],
        junctions_c=_by_zone(nominal.trace.true_c, len(zones))[:rows],
        stages=tuple(stage_figures(woods, stages)),
        bends=tuple(found),
        stretch=_stretch(piece, columns, found),
        colours=tuple(_colour(woods, column) for column in range(len(columns))),
        ending=nominal.ending,
        trip=nominal.trace.trip,
        trips=_trips(woods, zones),
        unfinished=sum(wood.track.ending == "unfinished" for wood in woods),
        plants=plants,
        seed=seed,
    )


def _trips(woods: Sequence[Wood], zones: Sequence[str]) -> tuple[Trips, ...]:
    """What shut rigs down, where and when; a run refused at its start counts as one."""
    seen: Counter[tuple[str, str, int]] = Counter()
    for track in (wood.track for wood in woods):
        if track.ending in ("trip", "refused"):
            zone = track.trace.events[-1][2]
            stage = int(track.stage[-1]) + 1 if track.stage.size else 0
            seen[track.trace.trip or "refused", zones[zone] if zone >= 0 else "rig", stage] += 1
    return tuple(Trips(*place, rigs) for place, rigs in seen.most_common())


def _common_times(woods: Sequence[Wood]) -> F64:
    """Whole seconds that every rig runs which came to the end; without such a rig, that half of them run."""
    ran = [wood.track for wood in woods if wood.track.time_s.size]
    if not ran:
        return np.zeros(0)
    done = [float(track.time_s[-1]) for track in ran if track.ending == "done"]
    ends = sorted(float(track.time_s[-1]) for track in ran)
    return np.arange(1.0, (min(done) if done else ends[len(ends) // 2]) + 0.5)


def _by_zone(rows: Sequence[Sequence[float | None]], zones: int) -> F64:
    values = [[np.nan if value is None else value for value in row] for row in rows]
    return np.array(values, dtype=np.float64).reshape(len(rows), zones)


def _bands(woods: Sequence[Wood], name: str, time_s: F64) -> Bands:
    """Bands of one series; a rig counts for as long as it runs."""
    columns = woods[0].track.mid_c.shape[1]
    stacked = np.full((len(woods), len(time_s), columns), np.nan)
    for place, wood in enumerate(woods):
        field: F64 = getattr(wood if hasattr(wood, name) else wood.track, name)
        if not wood.track.time_s.size:
            continue
        for column in range(columns):
            stacked[place, :, column] = np.interp(time_s, wood.track.time_s, field[:, column], right=np.nan)
    # Sorted, the missing ones stand last; at least one rig runs at every one of these times.
    stacked.sort(axis=0)
    last = (~np.isnan(stacked)).sum(axis=0) - 1
    low, mid, high = (_ranked(stacked, last * (share / 100.0)) for share in BAND_PERCENT)
    return Bands(low, mid, high)


def _ranked(ordered: F64, place: F64) -> F64:
    """Values between the ranks along the first axis."""
    below = np.floor(place).astype(np.int64)
    above = np.ceil(place).astype(np.int64)
    lower = np.take_along_axis(ordered, below[None], axis=0)[0]
    upper = np.take_along_axis(ordered, above[None], axis=0)[0]
    result: F64 = lower + (upper - lower) * (place - below)
    return result


def _colour(woods: Sequence[Wood], column: int) -> Colour:
    """Colour at the end of the run; the words follow each rig's own index and heat."""
    ran = [wood for wood in woods if wood.track.time_s.size]
    minutes = [float(wood.colour_min[-1, column]) for wood in ran]
    hottest = [float(wood.track.hot_c[:, column].max()) for wood in ran]
    ranks = [SHADES.index(shade(dose, at_c)) for dose, at_c in zip(minutes, hottest, strict=True)]
    places = np.percentile(ranks, BAND_PERCENT, method="nearest") if ranks else (0, 0, 0)
    nothing = Band(0.0, 0.0, 0.0)
    low, mid, high = (SHADES[int(place)] for place in places)
    return Colour(band(minutes) or nothing, band(hottest) or nothing, (low, mid, high))


def _stretch(piece: Mapping[str, object], columns: Sequence[str], found: Sequence[Bend]) -> Stretch | None:
    """The stretch where the form is tightest: at the waist, or at whatever is bent first."""
    radius, thickness = piece.get("tightest_radius_mm"), piece.get("thickness_mm")
    if not isinstance(radius, int | float) or not isinstance(thickness, int | float) or not found:
        return None
    column = columns.index("waist") if "waist" in columns else found[0].columns[0]
    bend = next((bend for bend in found if column in bend.columns), found[0])
    if bend.press_margin_k is None or bend.best_margin_k is None:
        return None
    strain = outer_strain_percent(thickness, radius)
    limit = _limit(bend.press_margin_k)
    verdict = "within" if strain <= limit.low else "near" if strain <= limit.high else "over"
    return Stretch(
        column=column,
        radius_mm=float(radius),
        thickness_mm=float(thickness),
        strain_percent=strain,
        strap_percent=strap_compression_percent(thickness, radius),
        limit_percent=limit,
        best_limit_percent=_limit(bend.best_margin_k),
        least_radius_mm=thickness * tightest_radius_in_thicknesses(limit.mid, limit.mid),
        verdict=verdict,
    )


def _limit(margin: Band) -> Band:
    low, mid, high = tension_limit_percent(np.array([margin.low, margin.mid, margin.high]))
    return Band(float(low), float(mid), float(high))
