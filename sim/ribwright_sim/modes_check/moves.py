"""Everything that can happen to the rig, as moves from one state to the next.

A stretch of time lasts until the state changes, or until nothing more is expected to; a fault that lasts is
the same move again, and every order of every mixture of them is among the paths.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ribwright_board.core.controller import TICK_MS
from ribwright_board.core.knob_list import BACK_OFF, EXTEND, PAUSE, words
from ribwright_board.core.modes import EVENTS, HEAT_MODES, TRANSITIONS

from .surroundings import MISSING, WELL, Surroundings, of_a_zone, of_the_rig
from .view import state_of

if TYPE_CHECKING:
    from .world import World

LONG_TICK_MS = 1000
# Longer than the longest relay window.
EDGE_S = 21
# Longer than any stage but one lasts with all that may be added to it.
EXTENDED_S = 130
# A hold: a run begins with it far from its target, and no ramp before it.
LATER_STAGE = 5
PROOF_S = 90
ALONE_S = 800
SESSION_S = 7300
# One that trips, one that doubts and refuses, one of the contactor and one of the files.
BRIEF = ("zone 0 open", "zone 0 does not heat", "contactor welded", "files damaged")
TOUCH_S = 300
# Of the list at the knob: a mark, a minute more, backing off, a pause.
CHOSEN = (0, EXTEND, BACK_OFF, PAUSE)


@dataclass(frozen=True)
class Move:
    """One thing that can happen.

    name: its words in paths. act: does it. when: where it is tried, None for everywhere.
    """

    name: str
    act: Callable[[World], None]
    when: Callable[[World], bool] | None = None


def _stretch(around: Surroundings) -> Callable[[World], None]:
    def act(world: World) -> None:
        before = state_of(world)
        seconds = around.heat_s if world.controller.mode in HEAT_MODES else around.rest_s
        for _ in range(int(seconds * 1000) // TICK_MS):
            world.tick(around)
            if world.watch.broken or state_of(world)[:-1] != before[:-1]:
                return

    return act


def _edge(world: World) -> None:
    """Time passes until a relay switches."""
    before = state_of(world)
    for _ in range(EDGE_S * 1000 // TICK_MS):
        world.tick()
        if world.watch.broken or state_of(world) != before:
            return


def _press(pressed: tuple[str, ...], around: Surroundings) -> Callable[[World], None]:
    return lambda world: world.tick(around, pressed)


def _late(dt_ms: int, around: Surroundings) -> Callable[[World], None]:
    return lambda world: world.tick(around, dt_ms=dt_ms, hung=True)


def _ask(verb: str, **data: object) -> Callable[[World], None]:
    def act(world: World) -> None:
        world.ask(verb, profile=world.profile_name, **data)
        world.tick()

    return act


def _ask_extend(world: World) -> None:
    world.ask("extend", minutes=1)


def _to_its_end(ask: Callable[[World], None]) -> Callable[[World], None]:
    """A stage is made to last longer, and then to its end."""
    return lambda world: _last(world, ask)


def _last(world: World, ask: Callable[[World], None]) -> None:
    before = world.controller.runner.index if world.controller.runner else -1
    ask(world)
    for _ in range(EXTENDED_S * 1000 // TICK_MS):
        world.tick()
        runner = world.controller.runner
        if world.watch.broken or not _runs(world) or runner is None or runner.index != before:
            return


def _everything(world: World) -> None:
    world.ask_everything()
    world.tick()


def _reset(resets: int) -> Callable[[World], None]:
    def act(world: World) -> None:
        world.boot(world.controller.run if world.controller.mode in ("running", "paused") else 0, resets)
        world.tick()

    return act


def _ceiling_changes(world: World) -> None:
    world.controller.guard._zones[0].ceiling.value += 64.0
    world.tick()


def _targets_change(world: World) -> None:
    course = world.controller.course
    if course is not None:
        # One of the two sums that stand for all of a run's limits; any changed limit parts them as well.
        course.memory.limit ^= 64
    _stretch(WELL)(world)


def _alone(world: World) -> None:
    """Nobody touches anything, for longer than is allowed."""
    _long(world, ALONE_S, touches=False)


def _session(world: World) -> None:
    """Somebody is there all the time, for longer than a session may be."""
    _long(world, SESSION_S, touches=True)


def _runs(world: World) -> bool:
    return world.controller.mode == "running"


def _calm(world: World) -> bool:
    """A run in which hours may pass: whatever is wrong with a zone ends it long before."""
    guard = world.controller.guard
    grows = any(evidence.bad_ms or evidence.over_ms or evidence.leap_ms for evidence in guard._zones)
    odd = any(judge.suspect for judge in world.controller.jury.judges)
    return _runs(world) and not grows and not odd and not any(guard.held(zone) for zone in range(world.zones))


def _long(world: World, seconds: int, *, touches: bool) -> None:
    before = state_of(world)
    for tick in range(seconds * 1000 // LONG_TICK_MS):
        touched = touches and tick % (TOUCH_S * 1000 // LONG_TICK_MS) == 0
        world.tick(WELL, ("start",) if touched else (), LONG_TICK_MS)
        if world.watch.broken or state_of(world)[:-1] != before[:-1]:
            return


def _begin_later(world: World) -> None:
    """A run begins with a later stage: laid out, pressed, proved."""
    world.ask("ready", profile=world.profile_name, stage=LATER_STAGE)
    for tick in range(PROOF_S * 1000 // TICK_MS):
        world.tick(WELL, ("start",) if tick == 1 else ())
        if world.watch.broken or _runs(world) or (tick > 1 and world.controller.mode != "proving"):
            return


def _turn(detents: int) -> Callable[[World], None]:
    return lambda world: world.tick(turned=detents)


def _push(world: World) -> None:
    world.tick(pushed=True)


def _choose(entry: int) -> Callable[[World], None]:
    """At the knob: the list is opened where it is closed, turned to an entry, and that is chosen."""

    def act(world: World) -> None:
        acts = world.alone.acts
        if acts is not None and not acts.open:
            _push(world)
        if acts is not None and acts.open and entry in acts._there:
            world.tick(turned=acts._there.index(entry) - acts._at)
            if acts.open:
                _push(world)

    return act


def _by_hand_changes(world: World) -> None:
    """What the maker has changed changes by itself."""
    runner = world.controller.runner
    if runner is not None and runner.by_hand.nudge is not None:
        runner.by_hand.nudge.value += 64.0
    elif runner is not None and runner.by_hand.extension is not None:
        runner.by_hand.extension.stage.value += 64.0
    world.tick()


def _by_hand(world: World) -> bool:
    return world.variant.by_hand


def _rests_by_hand(world: World) -> bool:
    return world.variant.by_hand and world.controller.mode in ("idle", "ready")


def _runs_by_hand(world: World) -> bool:
    return world.variant.by_hand and _runs(world)


def _under_way(world: World) -> bool:
    return world.controller.mode in ("running", "paused", "tripped")


def _has_knob(world: World) -> bool:
    return world.variant.panel


def _knob_in_a_run(world: World) -> bool:
    return world.variant.panel and world.controller.mode in ("running", "paused")


def _events(world: World) -> None:
    """Every event that the table does not know in this mode."""
    controller = world.controller
    for event in EVENTS:
        if (controller.mode, event) in TRANSITIONS:
            continue
        before = (state_of(world), list(controller.outputs(world.now_ms)))
        if controller._move(event) or (state_of(world), list(controller.outputs(world.now_ms))) != before:
            world.watch.say("still", f"{event} in {before[0][1]}")


def moves(*, quick: bool, brief: bool = False) -> list[Move]:
    """The alphabet; quick: without what differs only in a name; brief: of what can be wrong, BRIEF alone."""
    found = [Move("time passes", _stretch(WELL)), Move("an event out of place", _events)]
    found.append(Move("time passes until a relay switches", _edge, _runs))
    around = [*of_a_zone(0, quick=quick), *of_a_zone(1, quick=quick), *of_the_rig(quick=quick)]
    if brief:
        around = [each for each in around if each.name in BRIEF]
    found += [Move(each.name, _stretch(each)) for each in around]
    bad = [
        WELL,
        Surroundings("zone 0 open", 0, shows=MISSING[0]),
        Surroundings("nothing new", shows="nothing"),
    ]
    if not quick:
        bad.append(Surroundings("zone 1 leaps", 1, shows="leap"))
    together: tuple[tuple[str, ...], ...] = (("start", "stop"), ("start", "next", "stop"), ("stop", "start"))
    for pressed in (("start",), ("next",), ("stop",), *(() if quick else together)):
        for each in bad if pressed == ("start",) else bad[:1]:
            name = f"press {' and '.join(pressed)}" + ("" if each is WELL else f", {each.name}")
            found.append(Move(name, _press(pressed, each)))
    found += [Move(f"host asks {verb}", _ask(verb)) for verb in ("ready", "stop", "next", "pause")]
    found += [
        Move("host asks everything else", _everything),
        Move("tick 2.5 s late", _late(2500, WELL)),
        Move("reset", _reset(1)),
        Move("second reset", _reset(2)),
        Move("a ceiling changes by itself", _ceiling_changes),
        Move("a kept sum of targets changes by itself", _targets_change),
        Move("nobody is there", _alone, _calm),
        Move("knob turned up", _turn(20), _knob_in_a_run),
        Move("knob turned down", _turn(-20), _knob_in_a_run),
        Move("knob pushed", _push, _has_knob),
        *[Move(f"chosen at the knob: {words(each)}", _choose(each), _knob_in_a_run) for each in CHOSEN],
        Move("chosen at the knob: 1 min longer, and it passes", _to_its_end(_choose(EXTEND)), _knob_in_a_run),
        Move("host asks to move a target up", _ask("nudge", by_k=10), _by_hand),
        Move("host asks to move a target down", _ask("nudge", by_k=-10), _by_hand),
        Move("host asks for a minute more", _ask("extend", minutes=1), _by_hand),
        Move("host asks for a minute more, and it passes", _to_its_end(_ask_extend), _runs_by_hand),
        Move("host asks to back off", _ask("back_off")),
        Move("host asks for a mark", _ask("mark", what="steam"), _under_way),
        Move("host asks ready, a later stage, and it begins", _begin_later, _rests_by_hand),
        Move("what was changed by hand changes by itself", _by_hand_changes, _runs_by_hand),
    ]
    if not quick:
        found += [
            Move("tick 0.7 s late", _late(700, WELL)),
            Move("tick 1.9 s late", _late(1900, WELL)),
            Move("tick 1.9 s late, zone 0 gives nothing new", _late(1900, of_a_zone(0, quick=True)[1])),
            Move("a whole session passes", _session, _calm),
        ]
    return found
