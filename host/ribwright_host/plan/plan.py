"""A plan made on the simulator, as plain values: the only file of the plan that knows the simulator."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from difflib import get_close_matches
from typing import Any

from ribwright_board import __version__
from ribwright_board.core.profile import check
from ribwright_board.core.units import c_from
from ribwright_host.errors import FileError, NoPlanError
from ribwright_host.rigs import RigFile
from ribwright_sim.colour import VISIBLE_ABOVE_C
from ribwright_sim.materials import StackError
from ribwright_sim.planning import RIGS, SEED, plan_bend
from ribwright_sim.planning_profile import profile_of
from ribwright_sim.planning_values import Candidate, Found, RefusalError, Wanted
from ribwright_sim.rehearsal import BRIDGES
from ribwright_sim.softening import SPREAD_K, margin_k

from .piece import Asked

Values = dict[str, Any]

# What is tried for a bend, the ordinary targets first (common practice, no source: 150 to 180 C, 300 to 350
# F) and what lies below them, in whole degrees of each unit.
TARGETS = {
    "C": ((150, 160, 170, 180), (140, 130, 120)),
    "F": ((300, 320, 340, 350), (285, 265, 250)),
}
USUAL_SET = {"C": 127, "F": 260}


@dataclass(frozen=True)
class Planned:
    """A plan. mapping: of the profile. purposes: of its stages. figures: all that was found, in C and mm."""

    mapping: Values
    purposes: list[str]
    figures: Values


def planned(
    rig: RigFile,
    asked: Asked,
    unit: str,
    *,
    lengths: str = "mm",
    set_c: float | None = None,
    rigs: int = RIGS,
    seed: int = SEED,
    tell: Callable[[str], None] | None = None,
) -> Planned:
    """Make a plan.

    rig: checked file. asked: what is to be bent. unit: of the profile. lengths: shown, "mm" or
    "in". set_c: target of the set where neither
    the maker nor custom decides. rigs, seed: of the draws. tell: takes a line of progress. Raises NoPlanError
    where a heat limit stands against it, FileError where rig or wood cannot be simulated.
    """
    set_to = asked.set_c or set_c or c_from(USUAL_SET[unit], unit)
    ordinary, below = ([c_from(float(one), unit) for one in some] for some in TARGETS[unit])
    wanted = Wanted(
        colour=asked.colour,
        set_c=set_to,
        shape=asked.shape,
        bend_thickness_mm=asked.bend_thickness_mm,
        unit=unit,
        lengths=lengths,
        targets_c=(tuple(ordinary), tuple(below)),
    )
    try:
        found = plan_bend(rig.mapping, asked.piece, wanted, rigs=rigs, seed=seed, tell=tell)
    except RefusalError as no:
        raise NoPlanError(
            no.seen,
            no.fits,
            code=no.limit,
            where={
                "limit": no.limit,
                "best_margin_k": no.best_k,
                "rigs": rigs + 1,
                "tried": [_tried(one) for one in no.tried],
            },
        ) from None
    except StackError as error:
        raise FileError(
            _seen(error, rig), _advice(error), code=error.code, where={"file": str(rig.path)}
        ) from error
    mapping, purposes = profile_of(found, rig.rig, asked.piece, asked.name, unit)
    problems = check(mapping, rig.rig)
    if problems:
        # The search keeps to the board's limits; whatever slips through must not reach a file.
        raise FileError(
            f"the plan breaks the board's limits: {problems[0].place()} {problems[0].text}",
            "write the profile by hand from `ribwright new`, and report this",
            code=problems[0].code,
        )
    return Planned(mapping, purposes, figures_of(found, rig, asked, unit) | {"lengths": lengths})


def _seen(error: StackError, rig: RigFile) -> str:
    """What the simulator does not take: of the piece that was asked about, else of the rig's file."""
    suffix = f" {error.unit}" if error.unit else ""
    of_piece = error.where.startswith("piece.")
    where = error.where.removeprefix("piece.") if of_piece else f"{rig.path}: {error.where}"
    return f"{where} is {error.seen}, {error.limit}{suffix}"


def _advice(error: StackError) -> str:
    """The next step; for a word that is nearly a known one, that one."""
    known = error.limit.removeprefix("known: ").split(", ")
    near = get_close_matches(str(error.seen).strip("'"), known, n=1)
    return f"did you mean {near[0]}? Else {error.advice}" if near else error.advice


def above_softening_k(wood_c: float, moisture_percent: float) -> float:
    """How far wood is above its softening by the middle of the curve that a plan goes by, K.

    wood_c: of the wood, C. moisture_percent: bound water, % of ovendry mass.
    """
    return float(margin_k(wood_c, moisture_percent))


def figures_of(found: Found, rig: RigFile, asked: Asked, unit: str) -> Values:
    """Everything about a plan as values JSON can hold; temperatures in C.

    found: of the search. rig, asked: what it is for. unit: of the profile.
    """
    names = rig.rig.zone_names()
    curve = asked.curve
    return {
        "schema": 1,
        "simulated": True,
        "ribwright": __version__,
        "name": asked.name,
        "unit": unit,
        "rig": rig.name,
        "rig_hash": rig.hash,
        "rigs": found.rigs + 1,
        "seed": found.seed,
        "band": "lowest, middle and highest of all rigs",
        "piece": asked.piece,
        "shape": asked.shape,
        "colour_asked": asked.colour,
        "drawing": asked.drawing,
        "grade": found.grade,
        "reasons": [asdict(reason) for reason in found.reasons],
        "bends": [
            {
                "zones": [names[zone] for zone in zones],
                "cues": list(cues),
                **asdict(bend),
            }
            for bend, zones, cues in zip(
                found.bends,
                (found.order.first, found.order.then),
                (found.order.first_cues, found.order.then_cues),
                strict=False,
            )
        ],
        "set_c": found.set_c,
        "set_minutes": found.set_minutes,
        "settled_min": asdict(found.settled_min),
        "moisture_after_percent": asdict(found.moisture_percent),
        "colours": {
            name: {
                "minutes_at_177_c": asdict(one.minutes),
                "hottest_c": asdict(one.hottest_c),
                "words": [shade.word for shade in one.shades],
            }
            for name, one in found.colours.items()
        },
        "visible_above_c": VISIBLE_ABOVE_C,
        "thermocouples_highest_c": found.highest_c,
        "strain_percent": found.strain_percent,
        "strap_percent": found.strap_percent,
        "bend_thickness_mm": found.bend_thickness_mm,
        "softening_spread_k": SPREAD_K,
        "tried": [_tried(one) for one in found.tried],
        "curve": None if curve is None else curve.as_json(),
        "unverified": [asdict(bridge) for bridge in BRIDGES],
    }


def _tried(one: Candidate) -> Values:
    return {**asdict(one.tried), **{key: value for key, value in asdict(one).items() if key != "tried"}}
