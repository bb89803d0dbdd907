"""The campaign cut into pieces of work that any process can do by itself, and what each hands back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from random import Random

from ribwright_sim.modes_check.walk import explore

from .core_rig import CoreRig
from .healthy import Healthy, short_run, whole_name, whole_run
from .outcome import Outcome
from .phases import PHASES, WarmStates, warm_states
from .resets import Reset, reset_once
from .rigs import Setting, draw_setting
from .series import MAINS, Series, all_series, cases_of, play_case

# Settings of whole runs are drawn from here on, so that none of them is a series' rig.
WHOLE_SEED = 100_000
LONG_SEED = 200_000
LONG_SET_MIN = 240.0


@dataclass(frozen=True)
class Task:
    """A piece of work: one warm rig with its share of faults, ten-minute runs and resets; or whole runs; or a
    rig whose set stage is so long that only presence and session end it; or the walk through the modes.
    """

    series: Series | None = None
    shorts: int = 0
    resets: int = 0
    wholes: tuple[Setting, ...] = ()
    long: Series | None = None
    walk: str = ""


@dataclass
class Result:
    """What a piece of work hands back. warm: the healthy runs its faults began from, their copies dropped.
    unreached: cases whose phase the warm run never came to. model: figures of the walk.
    """

    outcomes: list[Outcome] = field(default_factory=list)
    healthy: list[Healthy] = field(default_factory=list)
    resets: list[Reset] = field(default_factory=list)
    warm: list[WarmStates] = field(default_factory=list)
    unreached: list[str] = field(default_factory=list)
    model: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Size:
    """How much is played. rigs: drawn rigs per mains with a strip in; bare_rigs: without; parts: they share
    the list of faults; shorts: ten-minute runs; wholes: whole runs; resets: of the core; longs: rigs whose
    heat would last for hours. board_faults, board_resets: through the real interpreter. walk: through the
    modes, "whole", "quick" or none.
    """

    rigs: int
    bare_rigs: int
    parts: int
    shorts: int
    wholes: int
    resets: int
    longs: int
    board_faults: int
    board_resets: int
    walk: str = ""


NORMAL = Size(
    rigs=8,
    bare_rigs=7,
    parts=5,
    shorts=900,
    wholes=100,
    resets=940,
    longs=6,
    board_faults=1000,
    board_resets=60,
    walk="whole",
)
FULL = replace(NORMAL, wholes=1000)
QUICK = Size(
    rigs=1,
    bare_rigs=1,
    parts=30,
    shorts=7,
    wholes=2,
    resets=36,
    longs=1,
    board_faults=12,
    board_resets=4,
    walk="quick",
)


def tasks(size: Size, seed: int) -> list[Task]:
    """The pieces of a campaign, the longest first.

    Args:
        size: how much.
        seed: of everything that is drawn.
    """
    series = all_series(size.rigs, size.bare_rigs, size.parts, seed)
    shorts, resets = _shares(size.shorts, len(series)), _shares(size.resets, len(series))
    warm = [Task(each, shorts[at], resets[at]) for at, each in enumerate(series)]
    settings = [whole_setting(seed, number) for number in range(size.wholes)]
    wholes = [Task(wholes=tuple(settings[at : at + 4])) for at in range(0, len(settings), 4)]
    long = [
        Task(long=Series(LONG_SEED + seed * 1000 + at, MAINS[at % 3], bare=at % 2 == 1))
        for at in range(size.longs)
    ]
    walk = [Task(walk=size.walk)] if size.walk else []
    return [*walk, *long, *warm, *wholes]


def whole_setting(seed: int, number: int) -> Setting:
    """The rig of a whole healthy run: any mains within limits, cold and hot starts, some with slow relays.

    Args:
        seed: of the campaign.
        number: of the run, from 0 up to 9999; it picks start, load and relays in turn.
    """
    draw = Random(f"whole {seed} {number}")  # noqa: S311 - a drawn rig, no secret
    setting = draw_setting(WHOLE_SEED + seed * 10_000 + number, draw.uniform(0.9, 1.1), bare=number % 8 == 7)
    start_c = (None, None, 5.0, 120.0)[number % 4]
    return replace(
        setting,
        start_c=start_c,
        room_c=5.0 if start_c == 5.0 else setting.room_c,
        window_ms=20_000 if number % 5 == 4 else 1000,
    )


def do(task: Task) -> Result:
    """Do a piece of work, the task, and give what came of it."""
    result = Result()
    if task.series is not None:
        _do_series(task, task.series, result)
    if task.long is not None:
        _do_long(task.long, result)
    if task.walk:
        result.model = explore(quick=task.walk == "quick").figures()
    result.healthy += [whole_run(setting) for setting in task.wholes]
    return result


def _do_series(task: Task, series: Series, result: Result) -> None:
    setting = draw_setting(series.number, series.mains, bare=series.bare)
    warm = warm_states(setting)
    for case in cases_of(series):
        outcome = play_case(warm, case)
        if outcome is None:
            result.unreached.append(case.name)
        else:
            result.outcomes.append(outcome)
    phases = [phase for phase in PHASES if warm.by_phase.get(phase)]
    for turn in range(task.shorts):
        phase = phases[(turn + series.number) % len(phases)]
        copies = warm.by_phase[phase]
        result.healthy.append(short_run(copies[turn % len(copies)], setting, phase, turn))
    for turn in range(task.resets):
        phase = phases[(turn + series.number) % len(phases)]
        copies = warm.by_phase[phase]
        name = whole_name(setting).replace("whole", "reset") + f"/{phase}/{turn}"
        rig = CoreRig.from_snapshot(copies[turn % len(copies)])
        result.resets.append(reset_once(rig, name, series.number * 1000 + turn))
    _keep(result, warm)


def _do_long(series: Series, result: Result) -> None:
    """Presence and session, on a rig whose profile would hold its heat for hours."""
    warm = warm_states(long_setting(series))
    for case in cases_of(series, long=True):
        outcome = play_case(warm, case)
        if outcome is None:
            result.unreached.append(case.name)
        else:
            result.outcomes.append(outcome)
    _keep(result, warm)


def long_setting(series: Series) -> Setting:
    """The rig of a series whose set stage lasts for hours."""
    return replace(draw_setting(series.number, series.mains, bare=series.bare), set_min=LONG_SET_MIN)


def _keep(result: Result, warm: WarmStates) -> None:
    warm.by_phase = {}
    result.warm.append(warm)


def _shares(total: int, parts: int) -> Sequence[int]:
    """A number cut into whole parts that differ by one at most."""
    return [total // parts + (1 if at < total % parts else 0) for at in range(parts)]
