"""One case or healthy run again, with a readable trace: its name in the lists is all that is needed."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from .board_faults import BOARD_ONLY, board_fault
from .board_runs import play_on_board
from .core_rig import CoreRig
from .fault import Fault
from .healthy import short_run, whole_run
from .outcome import Case, Outcome
from .phases import warm_states
from .play import Play, line
from .rigs import draw_setting
from .series import Series, state_for
from .work import WHOLE_SEED, long_setting, whole_setting

Say = Callable[[str], None]


def case_from(name: str) -> Case:
    """The case of a name as `Case.name` writes it; raises ValueError when it is none.

    >>> case_from("A1/hold/z0/loaded/0.9/12").phase
    'hold'
    """
    parts = name.split("/")
    if len(parts) != 6 or not parts[2].startswith("z") or parts[3] not in ("loaded", "bare"):
        raise ValueError(f"{name}: a case is named like A1/hold/z0/loaded/0.9/12")
    fault, _, variant = parts[0].partition(".")
    case = Case(
        fault=fault,
        variant=variant,
        phase=parts[1],
        expected=(),
        zone=int(parts[2][1:]),
        seed=int(parts[5]),
        mains=float(parts[4]),
        bare=parts[3] == "bare",
    )
    try:
        found = board_fault(case)
    except KeyError:
        raise ValueError(f"{name}: {parts[0]} is not in the fault list") from None
    feedback = draw_setting(case.seed, case.mains, bare=case.bare).feedback
    return replace(case, expected=found.accepted(feedback=feedback))


def replay(name: str, say: Say, every_s: float = 1.0) -> int:
    """Play something again.

    Args:
        name: of a case, or of a healthy run, as the lists show it. A reset's is none.
        say: takes one line.
        every_s: seconds between two lines of figures.

    Gives 0 when it was as it has to be, 1 when not, 3 when the warm run never came to its phase. Raises
    ValueError for a name that is none.
    """
    if name.startswith(("whole/", "short/")):
        return _healthy(name, say, every_s)
    case = case_from(name)
    fault = board_fault(case)
    if fault.key in BOARD_ONLY:
        return _on_board(case, fault, say)
    series = Series(case.seed, case.mains, case.bare)
    setting = long_setting(series) if fault.long else draw_setting(case.seed, case.mains, bare=case.bare)
    say(f"{case.name}: {fault.what}; right names: {', '.join(case.expected) or 'none needed'}")
    say(str(setting))
    warm = warm_states(setting)
    state = state_for(warm, case)
    if state is None:
        say(f"the healthy run of this rig never reached {case.phase}: {warm.trips}")
        return 3
    play = Play(case, CoreRig.from_snapshot(state), fault, every_s)
    outcome = play.run()
    for each in play.trace:
        say(each)
    return _judged(outcome, fault, say)


def _on_board(case: Case, fault: Fault, say: Say) -> int:
    """A case that only a board can suffer, with what the board told."""
    say(f"{case.name}: {fault.what}; right names: {', '.join(case.expected)}")
    with tempfile.TemporaryDirectory(prefix="ribwright_boards_") as folder:
        outcome = play_on_board(case, Path(folder), say)
    if outcome.note:
        say(f"note: {outcome.note}")
    return _judged(outcome, fault, say)


def _judged(outcome: Outcome, fault: Fault, say: Say) -> int:
    """What came of a case, in one line; 0 when it was as it has to be, else 1."""
    say(
        f"named {outcome.named} by {outcome.how or 'nobody'}, {outcome.detect_s} s after it first acted, "
        f"hottest {outcome.hottest_c} C, cut-off {'opened' if outcome.cutoff_opened else 'closed'}, "
        f"off after {outcome.off_ms} ms, contactor after {outcome.contactor_ms} ms, {outcome.figures}"
    )
    good = not outcome.over_limit and not outcome.wrong_cause and (outcome.detected or not fault.contained)
    return 0 if good else 1


class _Look:
    """Writes a line of figures now and then, and every event."""

    def __init__(self, say: Say, every_s: float) -> None:
        self._say = say
        self._every_us = int(every_s * 1e6)
        self._seen = self._next_us = 0

    def __call__(self, rig: CoreRig) -> None:
        for entry in rig.told[self._seen :]:
            self._say(line(rig, 0, " ".join(map(str, entry[1:]))))
        self._seen = len(rig.told)
        if rig.now_us >= self._next_us:
            self._next_us = rig.now_us + self._every_us
            self._say(line(rig, 0))


def _healthy(name: str, say: Say, every_s: float) -> int:
    """A healthy run again; 0 when nothing tripped, 3 when the rig never reached the phase."""
    kind, mains, load, seed, *rest = name.split("/")
    setting = draw_setting(int(seed), float(mains), bare=load == "bare")
    look = _Look(say, every_s)
    if kind == "whole":
        if setting.seed >= WHOLE_SEED:
            setting = whole_setting(*divmod(setting.seed - WHOLE_SEED, 10_000))
        say(str(setting))
        found = whole_run(setting, look)
    else:
        say(str(setting))
        phase, turn = rest
        warm = warm_states(setting)
        copies = warm.by_phase.get(phase)
        if not copies:
            say(f"the healthy run of this rig never reached {phase}: {warm.trips}")
            return 3
        found = short_run(copies[int(turn) % len(copies)], setting, phase, int(turn), look)
    say(str(found))
    return 1 if found.codes else 0
