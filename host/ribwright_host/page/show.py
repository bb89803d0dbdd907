"""What goes out to a page: short values in the unit that is shown, and whole sentences, made here alone."""

from collections.abc import Mapping
from typing import Any

from ribwright_board.core.units import in_unit, in_unit_difference
from ribwright_host.view import MODE_WORDS, ON, asks_for, refusal_words, view_of

from .acts import ACTS, MARK_BUTTONS, nudge_buttons
from .behind import Behind
from .course import AT_MOST, Course, clock, ends_words, left, legs
from .curve import Curve, Seen
from .scene import STALE_S, Scene

# As MODE_WORDS: heat over a rig that only watches comes from elsewhere, and is not off.
HEAT_WORDS = {"on": "HEAT ON", "may": "Heat may come", "off": "Relays off"}
NOTHING = Seen(target_c=None, measured_c=None, duty=0.0, relay_on=False, mid_c=None, band_k=0.0)
# Points of one message: what is missing comes with the next.
MOST_POINTS = 400


def whole(value_c: float | None, unit: str) -> int | None:
    """A temperature as a page shows it, without decimals: the estimate does not bear any.

    value_c: C or None. unit: "C" or "F".

    >>> whole(100.0, "F"), whole(None, "C")
    (212, None)
    """
    return None if value_c is None else round(in_unit(value_c, unit))


def _one(value_c: float | None, unit: str) -> float | None:
    return None if value_c is None else round(in_unit(value_c, unit), 1)


def now_of(scene: Scene, behind: Behind) -> dict[str, Any]:
    """The moment as a page shows it.

    scene: the rig. behind: what is known of the run from elsewhere.
    """
    stage = scene.course.stage(scene.stage) if scene.course else None
    return {
        "row_ms": scene.row_ms,
        "row_at": scene.row_at_s,
        "linked": scene.linked,
        "lost": scene.lost,
        "mode": scene.mode,
        "mode_words": MODE_WORDS.get(scene.mode, scene.mode or "not known"),
        "run": scene.run,
        "heat": scene.heat,
        "heat_words": HEAT_WORDS[scene.heat],
        "work": scene.work,
        "parts": [_part(scene, at) for at in range(len(scene.parts))],
        "stage": _stage(scene, behind),
        "stage_number": scene.stage,
        "cue": scene.cue,
        "wish": _wish(scene),
        "alarm": scene.mode == "tripped" or bool(scene.refused and scene.mode == "idle"),
        "ends": ends_words(scene.course, stage, scene.unit) if scene.course and stage else "",
        "closed": scene.known.closed(scene.mode, scene.waiting),
        "recent": scene.recent,
        "second": scene.curve.seconds(scene.row_ms) if scene.row_ms is not None else 0,
    }


def _part(scene: Scene, at: int) -> dict[str, Any]:
    part = scene.parts[at]
    seen = scene.seen[part.zone] if part.zone < len(scene.seen) else NOTHING
    unit = scene.unit
    on = scene.mode in ("running", "paused")
    held_s = scene.curve.held_s(part.zone) if on else None
    return {
        "name": part.name,
        "zone": part.zone,
        "heated": seen.target_c is not None,
        "mid": whole(seen.mid_c, unit),
        "band": None if seen.mid_c is None else round(in_unit_difference(seen.band_k, unit), 1),
        "held": None if held_s is None else clock(held_s),
        "most": whole(scene.curve.most_c(part.zone), unit) if on else None,
        "measured": whole(seen.measured_c, unit),
        "target": whole(seen.target_c, unit),
        "duty": round(100 * seen.duty),
    }


def _stage(scene: Scene, behind: Behind) -> dict[str, Any]:
    if scene.mode not in ON or not scene.stage:
        return {"title": "", "count": "", "left": None, "left_words": ""}
    known = scene.course.stage(scene.stage) if scene.course else None
    told = {
        "title": known.name if known else scene.stage_kind,
        "count": f"stage {scene.stage} of {scene.stages}, {scene.stage_kind}",
        "left": None,
        "left_words": "",
    }
    if scene.course and known:
        known_s = behind.lengths_s(scene.profile_hash)
        rest = left(scene.course, scene.stage, scene.in_stage_s, scene.held_s, known_s, scene.longer_s)
        told |= {"left": None if rest.seconds is None else clock(rest.seconds), "left_words": rest.words}
        if scene.warned_s is not None and known.kind == "hold":
            told |= {"left": clock(scene.warned_s), "left_words": AT_MOST}
    elif scene.warned_s is not None:
        told |= {"left": clock(scene.warned_s), "left_words": AT_MOST}
    return told


def _wish(scene: Scene) -> str:
    """What the rig asks of the maker, in the words the other screens use."""
    if scene.refused and scene.mode == "idle":
        try:
            why = refusal_words(scene.refused, scene.names)
        except (TypeError, ValueError):
            why = str(scene.refused.get("code"))
        return f"It did not begin: {why}. Look at the rig."
    view = view_of(
        {
            "mode": scene.mode,
            "waiting": scene.waiting,
            "cue": scene.cue,
            "trip": dict(scene.trip) if scene.trip else None,
        },
        scene.names,
    )
    return asks_for(view)


def course_of_page(scene: Scene, behind: Behind, piece: str) -> dict[str, Any]:
    """What changes only with board, run or stage: names, the lines ahead and behind.

    scene: the rig. behind: what is known from elsewhere. piece: of the notebook, "" for none.
    """
    board = scene.board
    return {
        "rig": board.rig_name if board else "",
        "simulated": board.simulated if board else False,
        "unit": scene.unit,
        "stale_s": STALE_S,
        "piece": piece,
        "profile": scene.course.name if scene.course else "",
        "run": scene.run,
        "first_ms": scene.curve.first_ms,
        "zones": scene.names,
        "parts": [{"name": part.name, "zone": part.zone} for part in scene.parts],
        "acts": {
            verb: {"words": act.words, "steers": act.steers, "done": act.done} for verb, act in ACTS.items()
        },
        "marks": MARK_BUTTONS,
        "nudges": nudge_buttons(scene.unit),
        "ahead": _ahead(scene, behind),
        "rehearsed": behind.band(scene.profile_hash, [part.name for part in scene.parts], scene.unit),
        "last": behind.last_lines(scene.names, scene.unit),
        "last_words": behind.last_words,
    }


def _ahead(scene: Scene, behind: Behind) -> list[dict[str, Any]]:
    """Targets from the present stage on, in seconds of the run; none where the profile is not known."""
    course: Course | None = scene.course
    if course is None:
        return []
    number = max(1, scene.stage)
    began_s = 0.0
    if scene.row_ms is not None and scene.in_stage_s is not None and scene.curve.first_ms is not None:
        began_s = scene.curve.seconds(scene.row_ms) - scene.in_stage_s
    elif scene.curve.first_ms is not None and scene.row_ms is not None:
        began_s = scene.curve.seconds(scene.row_ms)
    reading = {
        name: seen.measured_c
        for name, seen in zip(scene.names, scene.seen, strict=False)
        if seen.measured_c is not None
    }
    found = []
    for leg in legs(course, number, behind.lengths_s(scene.profile_hash), reading):
        stage = course.stages[leg.number - 1]
        found.append(
            {
                "from": began_s + leg.from_s,
                "to": began_s + leg.to_s,
                "kind": stage.kind,
                "name": stage.name,
                "guess": leg.guess,
                "target": _one(stage.target_c, scene.unit),
                "zones": list(course.zones(stage)),
            }
        )
    return found


def points_of(curve: Curve, sent: int, unit: str) -> tuple[list[list[Any]], int]:
    """Seconds of a run that a page has not got yet, and how many it has then.

    curve: of the run. sent: how many it has. unit: "C" or "F". A point is seconds, then target, reading,
    middle of the wood and its band for each zone.
    """
    if sent > len(curve.points):
        sent = 0
    found = []
    for at_ms, seen, _, _ in curve.points[sent : sent + MOST_POINTS]:
        point: list[Any] = [round(curve.seconds(at_ms), 1)]
        for zone in seen:
            band = round(in_unit_difference(zone.band_k, unit), 1)
            point += [_one(zone.target_c, unit), _one(zone.measured_c, unit), _one(zone.mid_c, unit), band]
        found.append(point)
    return found, sent + len(found)


def changes(scene: Scene) -> tuple[Mapping[str, Any] | object, ...]:
    """What the slow half of a page hangs on; it goes out again when any of this is another.

    scene: the rig.
    """
    return (
        scene.board,
        scene.run,
        scene.stage,
        scene.profile_hash,
        scene.course,
        scene.curve.first_ms,
        scene.mode in ON,
    )
