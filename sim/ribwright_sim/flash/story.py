"""What a store has promised after every act, as the acts' own words and a plain model say."""

from __future__ import annotations

import base64
import hashlib
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from .scenes import Act, Scene


@dataclass(frozen=True)
class State:
    """What must be found on a flash at rest.

    profiles: hash of the body by key. runs: bytes by number. pins: numbers that are pinned. mark: run under
    way and resets in it. counted: our own counter. used: highest number that a run ever had. run: the one
    whose number was given last.
    """

    profiles: dict[str, str] = field(default_factory=dict)
    runs: dict[int, bytes] = field(default_factory=dict)
    pins: frozenset[int] = frozenset()
    mark: tuple[int, int] = (0, 0)
    counted: int = 0
    used: int = 0
    run: int = 0


def resets_counted(mark: tuple[int, int], boots: int = 1) -> tuple[int, int]:
    """What the mark says after so many more boots."""
    return (mark[0], mark[1] + boots) if mark[0] else (0, 0)


class Story:
    """A scene as it was recorded: what held before and after each act.

    scene: as played. head, entries: first lines of shim/cut_play.py. wrong: promises broken with no cut at
    all, as (act, what).
    """

    def __init__(self, scene: Scene, head: dict[str, Any], entries: Sequence[dict[str, Any]]) -> None:
        self.scene = scene
        self.max_profiles = int(head["max_profiles"])
        self.wrong: list[tuple[str, str]] = []
        self.absent = sorted(
            {act[0] for act, entry in zip(scene.acts, entries, strict=True) if entry["result"] == "absent"}
        )
        self._after = [int(entry["after"]) for entry in entries]
        self._before = [int(entry["before"]) for entry in entries]
        self._states = [State()]
        for act, entry in zip(scene.acts, entries, strict=True):
            self._states.append(self._next(self._states[-1], act, entry))

    def around(self, at: int, *, torn: bool) -> tuple[State, State, str]:
        """What held before and what may hold already when power goes at an operation, and the act.

        at: number of the operation. torn: it had begun.
        """
        done = bisect_right(self._after, at)
        if done == len(self._before):
            return self._states[done], self._states[done], "the end"
        begun = self._before[done] <= at if torn else self._before[done] < at
        name = f"{done} {self.scene.acts[done][0]}"
        return self._states[done], self._states[done + int(begun)], name

    def _next(self, state: State, act: Act, entry: dict[str, Any]) -> State:
        if entry["result"] == "absent":
            return state
        return getattr(self, f"_after_{act[0]}")(state, act[1], entry)  # type: ignore[no-any-return]

    def _after_boot(self, state: State, _arguments: object, entry: dict[str, Any]) -> State:
        mark = resets_counted(state.mark)
        if tuple(entry["result"]) != mark:
            self.wrong.append(("boot", f"said {entry['result']}, not {mark}"))
        return replace(state, mark=mark)

    def _after_put(self, state: State, arguments: tuple[str, str], entry: dict[str, Any]) -> State:
        """The store chooses which profile has to go, but it has to, and only one."""
        key, text = arguments
        wanted = {**state.profiles, key: hashlib.sha256(text.encode()).hexdigest()}
        gone = set(wanted) - set(entry["seen"]["profiles"])
        if key in gone or len(gone) != max(0, len(wanted) - self.max_profiles):
            self.wrong.append(("put", f"{sorted(gone)} are gone after {key} came"))
        return replace(
            state, profiles={name: sha for name, sha in wanted.items() if name not in gone - {key}}
        )

    def _after_next(self, state: State, _arguments: object, entry: dict[str, Any]) -> State:
        if entry["result"] <= state.used:
            self.wrong.append(("next", f"{entry['result']} was given before"))
        return replace(state, run=entry["result"])

    def _after_open(self, state: State, arguments: tuple[str], _entry: object) -> State:
        runs = {**state.runs, state.run: base64.b64decode(arguments[0])}
        return replace(state, runs=runs, used=max(state.used, state.run))

    def _after_append(self, state: State, arguments: tuple[str], _entry: object) -> State:
        grown = state.runs[state.run] + base64.b64decode(arguments[0])
        return replace(state, runs={**state.runs, state.run: grown})

    def _after_close(self, state: State, _arguments: object, _entry: object) -> State:
        return state

    def _after_mark(self, state: State, arguments: tuple[int], _entry: object) -> State:
        return replace(state, mark=(state.run, arguments[0]))

    def _after_unmark(self, state: State, _arguments: object, _entry: object) -> State:
        return replace(state, mark=(0, 0))

    def _after_room(self, state: State, _arguments: object, entry: dict[str, Any]) -> State:
        """The oldest go first, and never one that is pinned."""
        left = {int(number) for number in entry["seen"]["runs"]}
        gone, loose = set(state.runs) - left, sorted(set(state.runs) - state.pins)
        if gone != set(loose[: len(gone)]):
            self.wrong.append(("room", f"removed {sorted(gone)} of {loose}"))
        return replace(state, runs={number: body for number, body in state.runs.items() if number in left})

    def _after_pin(self, state: State, arguments: tuple[int, int], _entry: object) -> State:
        number, pinned = arguments
        return replace(state, pins=state.pins | {number} if pinned else state.pins - {number})

    def _after_count(self, state: State, arguments: tuple[int], _entry: object) -> State:
        return replace(state, counted=arguments[0])
