"""The walk: every state that any order of moves can reach, breadth first, with the rules watching."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from ribwright_board.core.controller import Controller
from ribwright_board.core.modes import TRANSITIONS

from .moves import moves
from .rigs import VARIANTS, Variant
from .rules import table_faults
from .saving import Shelf
from .view import State, state_of, words
from .world import Build, World

# A walk that finds more is no longer a proof: it says so instead of going on for hours.
MOST_STATES = 60_000
MOST_BROKEN = 10_000
# One shortest path is told for each rule and place; the count goes on.
MOST_PATHS = 40


@dataclass(frozen=True)
class Violation:
    """One broken rule.

    rule: key of rules.RULES. seen: what was seen. path: the moves from power-on, the last one broke it.
    """

    rule: str
    seen: str
    path: tuple[str, ...]

    def sentence(self) -> str:
        """One line for people."""
        return f"{self.rule}: {self.seen}; after: {' > '.join(self.path)}"


@dataclass
class Result:
    """What a walk found.

    states: distinct states. moves: how many moves were made. modes: modes reached. trips: codes of trips
    reached. refusals: codes of refused starts. violations: broken rules, shortest paths first. broken: how
    many moves broke one. whole: nothing was left unvisited. seconds: wall time.
    """

    states: int = 0
    moves: int = 0
    modes: set[str] = field(default_factory=set)
    trips: set[str] = field(default_factory=set)
    refusals: set[str] = field(default_factory=set)
    violations: list[Violation] = field(default_factory=list)
    broken: int = 0
    whole: bool = True
    seconds: float = 0.0

    def figures(self) -> dict[str, object]:
        """The numbers as plain values, for a JSON file."""
        return {
            "model_states_explored": self.states,
            "model_moves": self.moves,
            "model_whole": self.whole,
            "model_seconds": round(self.seconds, 1),
            "invariant_violations": self.broken,
            "violations": [violation.sentence() for violation in self.violations],
        }


class _Walk:
    """One rig's walk. Every state's first concrete moment is kept, and how it was reached."""

    def __init__(self, result: Result, most_states: int, enough: int) -> None:
        self.result = result
        self.enough = enough
        self.most_states = most_states
        self.shelf = Shelf()
        self.came: list[tuple[int, str]] = []
        self._told: set[tuple[str, str]] = set()

    def path(self, at: int, last: str) -> tuple[str, ...]:
        back = [last]
        while self.came[at][0] >= 0:
            back.append(self.came[at][1])
            at = self.came[at][0]
        return tuple(reversed(back))

    def run(self, variant: Variant, build: Build, *, quick: bool) -> None:
        result = self.result
        first = World(variant, build)
        known: set[State] = {state_of(first)}
        waiting = deque([self._keep(first, -1, "")])
        alphabet = moves(quick=quick or variant.brief, brief=variant.brief)
        while waiting and result.broken < self.enough:
            at = waiting.popleft()
            here = self.shelf.take(at)
            for move in alphabet:
                if move.when is not None and not move.when(here):
                    continue
                world = self.shelf.take(at)
                move.act(world)
                result.moves += 1
                self._note(world)
                if world.watch.broken:
                    self._break(world, at, move.name)
                    continue
                state = state_of(world)
                if state in known:
                    continue
                if len(known) >= self.most_states:
                    result.whole = False
                    continue
                known.add(state)
                waiting.append(self._keep(world, at, move.name))
        result.whole = result.whole and not waiting
        result.states += len(known)

    def _keep(self, world: World, parent: int, move: str) -> int:
        self.came.append((parent, move))
        return self.shelf.put(world)

    def _note(self, world: World) -> None:
        controller = world.controller
        self.result.modes.add(controller.mode)
        if controller.guard.trip is not None:
            self.result.trips.add(controller.guard.trip.code)
        if controller.refusal is not None:
            self.result.refusals.add(controller.refusal.code)

    def _break(self, world: World, at: int, move: str) -> None:
        self.result.broken += 1
        place = words(state_of(self.shelf.take(at)))
        for rule, seen in world.watch.broken[:3]:
            if (rule, place) in self._told or len(self.result.violations) >= MOST_PATHS:
                continue
            self._told.add((rule, place))
            self.result.violations.append(
                Violation(rule, f"{seen}, coming from {place}", self.path(at, move))
            )


def explore(
    *,
    quick: bool = False,
    variants: Sequence[Variant] = VARIANTS,
    build: Build = Controller,
    most_states: int = MOST_STATES,
    enough: int = MOST_BROKEN,
) -> Result:
    """Walk every reachable state of the real controller.

    Args:
        quick: one rig, and moves that differ only in a name once; for the tests.
        variants: the rigs to walk.
        build: makes the controller; a test hands in a broken one.
        most_states: of one rig; a walk that would find more is not whole.
        enough: broken rules after which it may stop, not whole.
    """
    started_s = time.perf_counter()
    result = Result()
    for fault in table_faults(TRANSITIONS):
        result.broken += 1
        result.violations.append(Violation("table", fault, ()))
    for variant in [replace(variants[0], fine=False)] if quick else variants:
        _Walk(result, most_states, enough).run(variant, build, quick=quick)
    result.seconds = time.perf_counter() - started_s
    return result
