"""What two moments must have in common to count as the same state of the model."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ribwright_board.core.alone import APART_MS
from ribwright_board.core.guard import STALE_OFF_MS
from ribwright_board.core.modes import HEAT_MODES
from ribwright_board.core.proving import Proving

from .surroundings import MISSING

if TYPE_CHECKING:
    from .world import World

State = tuple[object, ...]


def _kind(code: str) -> str:
    """Codes of a reading that does not come differ in their word alone."""
    return "missing" if code == "stale" or code in MISSING else code


def _panel_of(world: World) -> State:
    """What a panel adds: the outcome that waits for a press, a press that comes too soon, the open list."""
    alone, mode = world.alone, world.controller.mode
    soon = mode == "ready" and world.now_ms - alone._laid_ms < APART_MS
    before = "" if alone._mode == mode else alone._mode
    return bool(alone.said), soon, before, alone.acts is not None and alone.acts.open


def _by_hand_of(world: World) -> State:
    """What a maker adds: a moved target, and whether a stage is extended."""
    controller = world.controller
    if controller.runner is None or controller.mode not in ("running", "paused"):
        return ()
    by_hand = controller.runner.by_hand
    return by_hand.moved_k(), by_hand.more_ms() > 0


def state_of(world: World) -> State:
    """The abstract state of a world: what a rule or a transition of the controller depends on.

    Everywhere: rig, mode, trip, the alive signal, what is held and known against each zone, and whether
    evidence grows. In the modes in which it counts: step of the proof, stage and cue, the maker's
    presence, suspicion. Where the rig is walked coarsely, only whether a zone is held and suspect.
    """
    controller = world.controller
    guard, mode = controller.guard, controller.mode
    trip, course = guard.trip, controller.course
    under_way = mode in ("running", "paused") and course is not None
    fine = world.variant.fine
    zones: list[object] = []
    growing = guard._contactor_ms > 0 or guard._spread_ms > 0
    suspect = False
    aged = False
    whole = True
    for zone, evidence in enumerate(guard._zones):
        # A held zone is off already, and its evidence is no secret.
        free = evidence.code == ""
        growing = growing or (free and (evidence.bad_ms > 0 or evidence.over_ms > 0 or evidence.leap_ms > 0))
        aged = aged or (free and mode in HEAT_MODES and world.now_ms - evidence.good_ms > STALE_OFF_MS // 2)
        suspect = suspect or (mode == "running" and controller.jury.judges[zone].suspect != "")
        whole = whole and evidence.ceiling.whole()
        seen = mode == "tripped" or evidence.seen
        zones.append((_kind(evidence.code), seen) if fine else evidence.code != "")
    growing = growing and fine and mode != "tripped"
    where: State = ()
    proving = controller._proving
    if mode == "proving" and isinstance(proving, Proving):
        where = (proving._step, proving._pulsed, proving.alive, proving._short)
    elif course is not None and under_way:
        runner = course.runner
        where = (runner.index, runner.cue_index, runner.finished, course.attend.asked)
    return (
        world.variant.name,
        mode,
        where,
        None if trip is None else _kind(trip.code),
        tuple(zones),
        whole,
        mode in ("ready", "paused")
        and course is not None
        and course.memory.limit != ~course.memory._complement,
        growing,
        suspect,
        aged,
        controller.alive_due(),
        _panel_of(world) if world.variant.panel else (),
        _by_hand_of(world) if world.variant.by_hand else (),
        world.watch.armed,
        # Last, because time alone changes it all the while.
        mode == "running" and any(world.relays),
    )


def words(state: State) -> str:
    """A state for people: rig, mode, where in it, and a trip."""
    variant, mode, where, trip = state[:4]
    place = ""
    if isinstance(where, tuple) and where:
        place = f"stage {where[0] + 1}" if isinstance(where[0], int) else where[0]
    return " ".join(f"{variant}: {mode} {place} {trip or ''}".split())
