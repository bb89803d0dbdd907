"""One piece of the sweep of plans: planned, and what came out tried again.

An accepted plan passes the board's own checker and is run by the board's own controller on the rig that was
stiffest for it; one in each thickness is also run on all its worst rigs and on a dozen it was not made on.  A
refusal is held against a grid of targets and holds of which the search used only some.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.profile import check
from ribwright_board.core.rig import parse
from ribwright_board.core.rig_values import Rig
from ribwright_sim.colour import SHADES, shade
from ribwright_sim.ensemble import Draw, Job, Track, draws, run_one
from ribwright_sim.planning import LONGEST_HEAT_S, RIGS, SEED, plan_bend
from ribwright_sim.planning_bench import Lanes
from ribwright_sim.planning_profile import profile_of
from ribwright_sim.planning_program import Try, heat_steps, order_for
from ribwright_sim.planning_stages import FORM_S, NEXT_S, Stages
from ribwright_sim.planning_values import Found, RefusalError, Wanted
from ribwright_sim.stage_figures import wood_of
from ribwright_sim.wood import all_species

F64 = NDArray[np.float64]
Values = Mapping[str, object]

# 120 V, a blanket on the waist over a long one, about 5 W per square inch: common practice, no source.
RIG: Values = {
    "schema": 1,
    "name": "bench rig",
    "unit": "C",
    "board": "pico",
    "mains": {"volts": 120, "hertz": 60, "branch_limit_a": 12},
    "control": {"window_ms": 1000},
    "pins": {"sck": 18, "mosi": 19, "miso": 16, "alive": 15, "start": 12, "next": 13, "stop": 14},
    "zones": [
        {
            "name": name,
            "power_w": power_w,
            "length_mm": length_mm,
            "width_mm": 90,
            "relay": "solid-state",
            "relay_pin": relay,
            "chip": "MAX31855",
            "thermocouple": "K",
            "select_pin": select,
            "ceiling": 190,
        }
        for name, power_w, length_mm, relay, select in (
            ("waist", 105, 150, 10, 17),
            ("full", 420, 600, 11, 20),
        )
    ],
    "stack": {"form": "plywood", "form_mm": 25, "ambient": 21},
}
SPECIES = tuple(one.name for one in all_species()[:12])
THICKNESSES_MM = (1.5, 2.0, 2.5)
WETTED = ("soaked", "misted")
# A waist as tight as thirty thicknesses: softness is needed, a strap is not.
RADIUS_THICKNESSES = 30.0
# What a refusal is held against; the search uses other steps and holds.
GRID_C, GRID_MIN = tuple(range(110, 181, 10)), (0.0, 0.25, 0.75, 1.5)
WHOLE_PLANTS = 12
LIMITS = ("softening", "colour", "ceiling", "power", "set")


@dataclass(frozen=True, slots=True)
class Case:
    """One piece: species, thickness of its one ply, how it is wetted; whole: rehearsed on a dozen rigs
    too.
    """

    species: str
    thickness_mm: float
    wetted: str
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of it.

    accepted: there is a plan. right: the plan kept everything, or nothing in the grid was possible. limit: of
    a refusal. grade, bend_c, set_c, set_min: of a plan. least_k: by the board's controller, the least margin
    while bending by the middle of the softening curve; of a refusal, the best of the grid. plan_s: how long.
    wrong: what was not as it has to be.
    """

    case: Case
    accepted: bool
    limit: str
    grade: str
    bend_c: float
    set_c: float
    set_min: float
    least_k: float
    plan_s: float
    wrong: tuple[str, ...]


def cases() -> list[Case]:
    """Every piece of the sweep."""
    return [
        Case(name, thickness, wetted, whole=name == SPECIES[0] and wetted == WETTED[0])
        for name, thickness, wetted in product(SPECIES, THICKNESSES_MM, WETTED)
    ]


def piece_of(case: Case) -> dict[str, object]:
    """The profile's [piece].

    Args:
        case: of the sweep.
    """
    return {
        "kind": "side",
        "species": case.species,
        "cut": "quartersawn",
        "thickness_mm": case.thickness_mm,
        "width_mm": 80,
        "length_mm": 560,
        "tightest_radius_mm": RADIUS_THICKNESSES * case.thickness_mm,
        "wetted": case.wetted,
    }


def outcome(case: Case) -> Outcome:
    """Plan one piece and try what came out.

    Args:
        case: of the sweep.
    """
    rig, piece, begun = parse(RIG), piece_of(case), time.perf_counter()
    try:
        found = plan_bend(RIG, piece, advise=False)
    except RefusalError as no:
        took = time.perf_counter() - begun
        best_k = grid_best_k(piece, rig)
        wrong = [] if no.limit in LIMITS else ["its limit is not named"]
        if no.limit == "softening" and best_k >= 0.0:
            wrong.append(f"the grid has {best_k:.1f} K")
        return Outcome(case, False, no.limit, "", 0.0, 0.0, 0.0, best_k, took, tuple(wrong))  # noqa: FBT003
    took = time.perf_counter() - begun
    mapping, _ = profile_of(found, rig, piece, "swept", "C")
    wrong = [problem.text for problem in check(mapping, rig)]
    drawn = draws(piece, RIGS, SEED)
    chosen = [drawn[place] for place in found.worst[: None if case.whole else 1]]
    if case.whole:
        chosen += draws(piece, WHOLE_PLANTS, SEED + 1)
    runs = [tried(mapping, draw, found) for draw in chosen] if not wrong else []
    wrong += [
        f"rig {draw.seed}: {text}" for draw, (_, texts) in zip(chosen, runs, strict=True) for text in texts
    ]
    return Outcome(
        case,
        True,  # noqa: FBT003
        "",
        found.grade,
        found.bends[0].tried.target_c,
        found.set_c,
        found.set_minutes,
        min((least for least, _ in runs), default=float("nan")),
        took,
        tuple(wrong),
    )


def tried(
    profile: Values, draw: Draw, found: Found, colour: str = Wanted().colour
) -> tuple[float, list[str]]:
    """One rig under the board's own controller: the least margin while bending, and what was not kept.

    Args:
        profile: mapping.
        draw: the rig.
        found: its plan.
        colour: darkest word allowed.
    """
    columns = tuple(found.colours)
    track = run_one(Job(RIG, profile, columns, draw))
    wrong = [] if track.ending == "done" else [f"ended by {track.trace.trip or track.ending}"]
    least = min(bending(track, profile), default=float("nan"))
    if not least >= 0.0:
        wrong.append(f"{least:.1f} K above softening while bending")
    wood, words = wood_of(track), [one.word for one in SHADES]
    for column, name in enumerate(columns):
        seen = shade(float(wood.colour_min[-1, column]), float(track.hot_c[:, column].max())).word
        if words.index(seen) > words.index(colour):
            wrong.append(f"{name} colours: {seen}")
    return least, wrong


def bending(track: Track, profile: Values) -> Iterator[float]:
    """The least margin [K] of every press, by the middle of the softening curve, at its own columns.

    Args:
        track: of the run.
        profile: mapping.
    """
    margin_k = wood_of(track).margin_k + track.draw.shift_k
    stages: list[dict[str, object]] = list(profile["stages"])  # type: ignore[call-overload]
    for place, stage in enumerate(stages):
        cues, zones = stage.get("cues"), stage.get("zones")
        rows = np.flatnonzero(track.stage == place)
        if not isinstance(cues, list) or not isinstance(zones, list) or not rows.size:
            continue
        own = [1] if zones == ["waist"] else [0, 2]
        since_s = track.time_s[rows] - track.time_s[rows[0]]
        while_s = (since_s >= FORM_S) & (since_s <= NEXT_S * len(cues))
        yield float(margin_k[rows][while_s][:, own].min())


def grid_best_k(piece: Values, rig: Rig) -> float:
    """The best margin at the tightest place over the grid, each on the stiffest of the search's rigs [K].

    Args:
        piece: a profile's [piece].
        rig: checked.
    """
    drawn, order = draws(piece, RIGS, SEED), order_for(rig)
    tries = [Try(float(target_c), minutes) for target_c in GRID_C for minutes in GRID_MIN]
    lanes = Lanes(RIG, piece, drawn, len(tries))
    stages = Stages(lanes, heat_steps(order.first, tries, len(drawn), len(order.first_cues)), {})
    stages.run_until(len(stages.program), LONGEST_HEAT_S)
    least: F64 = stages.progress.presses[max(stages.progress.presses)].least_k
    every = least.reshape(len(tries), len(drawn)).min(axis=1)
    return float(np.nanmax(every))
