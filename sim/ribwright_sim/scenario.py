"""A whole run in one process: the firmware's own controller in CPython against the simulated stack.

The virtual rig proves the firmware as shipped; this is the quick way to the same core, for tuning.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ribwright_board.core.controller import TICK_MS, Controller
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.sensing import Missing, Reading, read_max31855

from .chips import Max31855

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from ribwright_board.core.stages import StageRunner

    from .plant import Plant

START_AFTER_MS = 3000
FORM_AFTER_MS = 5000
# A waist is pressed down slowly.
NEXT_AFTER_MS = 30000


@dataclass
class Trace:
    """One row a second of a run.

    time_s: since heat was allowed. stage: counted from 0. target_c and true_c: per zone, the wanted
    temperature (None for heat off) and the junction's own, without noise. events: (time_s, name, zone).
    trip: code of the fault that ended the run, "" for none.
    """

    time_s: list[float] = field(default_factory=list)
    stage: list[int] = field(default_factory=list)
    target_c: list[tuple[float | None, ...]] = field(default_factory=list)
    true_c: list[tuple[float, ...]] = field(default_factory=list)
    events: list[tuple[float, str, int]] = field(default_factory=list)
    trip: str = ""

    def names(self) -> list[str]:
        """Names of the events in their order."""
        return [name for _, name, _ in self.events]


class _Hands:
    """The maker: presses start when asked, the strip on the form at each cue, then next."""

    def __init__(self) -> None:
        self._plan: list[tuple[int, str, int]] = [(START_AFTER_MS, "start", -1)]

    def see(self, now_ms: int, name: str, zone: int) -> None:
        """Take one event: a cue asks for the form and then for next."""
        if name == "cue":
            self._plan.append((now_ms + FORM_AFTER_MS, "form", zone))
            self._plan.append((now_ms + NEXT_AFTER_MS, "next", zone))

    def wait(self, now_ms: int, waiting: str) -> None:
        """A hold without a cue that waits for the maker is ended after the same while; so is the question
        whether anybody is there.
        """
        if waiting in ("next", "presence") and not self._plan:
            self._plan.append((now_ms + NEXT_AFTER_MS, "next", -1))

    def act(self, now_ms: int) -> list[tuple[str, int]]:
        """What is done by now."""
        due = [(name, zone) for at_ms, name, zone in self._plan if at_ms <= now_ms]
        self._plan = [entry for entry in self._plan if entry[0] > now_ms]
        return due


def run_core(
    rig: Mapping[str, object],
    profile: Mapping[str, object],
    plant: Plant,
    *,
    seed: int = 0,
    limit_s: float = 7200.0,
    each_second: Callable[[Trace, Plant], bool] | None = None,
) -> Trace:
    """Run a profile to its end.

    Args:
        rig: mapping of a rig file.
        profile: mapping of a profile.
        plant: the stack at the start, see Plant.from_rig().
        seed: of the sensors' noise.
        limit_s: give up after so many simulated seconds.
        each_second: called with (trace, plant) after every row of the trace; says whether to go on.

    Raises CheckError for a rig or profile with a mistake.
    """
    checked = parse_rig(rig)
    controller = Controller(checked, 0)
    controller.lay_out(parse_profile(profile, checked), 1)
    zones = len(checked.zones)
    chips = [Max31855(seed=seed * 16 + zone) for zone in range(zones)]
    trace, hands = Trace(), _Hands()
    now_ms = 0
    while now_ms < limit_s * 1000:
        pressed = []
        for name, zone in hands.act(now_ms):
            if name == "form":
                plant.press_on_form(zone)
            else:
                pressed.append(name)
        items: list[Reading | Missing | None] = [
            _read(chips[zone], plant, zone, now_ms) for zone in range(zones)
        ]
        controller.tick(now_ms, items, tuple(pressed))
        for at_ms, name, zone, *_ in controller.events:
            hands.see(now_ms, name, zone)
            trace.events.append(((at_ms - controller.run_start_ms) / 1000.0, name, zone))
        controller.events = []
        hands.wait(now_ms, controller.waiting())
        if controller.rounds.row_due:
            controller.rounds.row_due = False
            if controller.mode == "running" and controller.runner is not None:
                _keep(trace, controller.runner, plant, now_ms - controller.run_start_ms)
                if each_second is not None and not each_second(trace, plant):
                    break
        if trace.events and trace.events[-1][1] in ("done", "trip", "refused"):
            break
        now_ms = _advance(controller, plant, now_ms)
    if controller.guard.trip is not None:
        trace.trip = controller.guard.trip.code
    return trace


def _read(chip: Max31855, plant: Plant, zone: int, now_ms: int) -> Reading | Missing:
    word = chip.convert(plant.thermocouple_c(zone), plant.cold_junction_c(zone))
    return read_max31855(word[0] << 8 | word[1], word[2] << 8 | word[3], now_ms)


def _keep(trace: Trace, runner: StageRunner, plant: Plant, at_ms: int) -> None:
    trace.time_s.append(at_ms / 1000.0)
    trace.stage.append(runner.index)
    trace.target_c.append(tuple(runner.targets_c))
    trace.true_c.append(tuple(plant.thermocouple_c(zone) for zone in range(len(plant.zones))))


def _advance(controller: Controller, plant: Plant, now_ms: int) -> int:
    """Let the plant live until the next tick, switching at every edge between."""
    end_ms = now_ms + TICK_MS
    while now_ms < end_ms:
        states: Sequence[bool] = tuple(controller.outputs(now_ms))
        if not controller.alive_due():
            # The master contactor is open; the half second it takes to follow is left out here.
            states = (False,) * len(states)
        edge_ms = min(end_ms, controller.next_edge_ms(now_ms))
        plant.advance((edge_ms - now_ms) / 1000.0, states)
        now_ms = edge_ms
    return end_ms
