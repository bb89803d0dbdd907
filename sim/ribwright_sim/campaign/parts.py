"""The campaign's parts put together: the core's, the real interpreter's, and the walk through every mode."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from .board_faults import board_cases, board_fault
from .board_resets import ResetOutcome, run_board_resets
from .board_runs import run_board_faults
from .goals import judged
from .outcome import Outcome
from .spread import Executor, processes
from .tally import Tally, entry, largest
from .work import Size, do, tasks

Step = Callable[[str], None]


@dataclass
class Campaign:
    """What was played. board, board_resets: through the real interpreter; model: figures of the walk."""

    core: Tally = field(default_factory=Tally)
    board: list[Outcome] = field(default_factory=list)
    board_resets: list[ResetOutcome] = field(default_factory=list)
    model: dict[str, object] = field(default_factory=dict)

    def figures(self) -> dict[str, object]:
        """All figures, plain, and whether each goal is held."""
        core = self.core.figures()
        figures = {**core, **self._board_figures()}
        for name in ("faults_injected", "over_limit", "undetected", "wrong_cause", "resets"):
            figures[f"core_{name}"] = core[name]
            figures[name] = _sum(figures, name, f"board_{name}")
        for name in ("worst_off_ms", "worst_contactor_ms"):
            figures[name] = largest([core[name], figures[f"board_{name}"]])
        half_cycles = "unarmed_energised_half_cycles"
        figures[half_cycles] = _sum(figures, half_cycles, f"board_{half_cycles}")
        figures["nuisance_trips"] = _sum(figures, "nuisance_trips", "board_resets_wrong")
        figures |= {name: value for name, value in self.model.items() if name != "violations"}
        figures["goals"] = judged(figures)
        return figures

    def notes(self) -> dict[str, object]:
        """The tables behind them."""
        return {
            **self.core.notes(),
            "board_not_as_expected": [entry(outcome) for outcome in self.board if _failed(outcome)],
            "board_notes": sorted({outcome.note for outcome in self.board if outcome.note}),
            "board_resets_wrong": [str(reset) for reset in self.board_resets if _reset_failed(reset)],
            "violations": self.model.get("violations", []),
        }

    def _board_figures(self) -> dict[str, object]:
        played, named = self.board, [outcome for outcome in self.board if outcome.how in ("trip", "refused")]
        flash = [outcome for outcome in played if board_fault(outcome.case).kind == "flash"]
        return {
            "board_faults_injected": len(played),
            "board_in_micropython": sum(outcome.board for outcome in played),
            "board_over_limit": sum(outcome.over_limit for outcome in played),
            "board_undetected": sum(_missed(outcome) for outcome in played),
            "board_never_acted": sum(outcome.figures.get("acted") == 0.0 for outcome in played),
            "board_wrong_cause": sum(
                outcome.wrong_cause and board_fault(outcome.case).contained for outcome in played
            ),
            "board_worst_off_ms": largest([outcome.off_ms for outcome in named]),
            "board_worst_contactor_ms": largest([outcome.contactor_ms for outcome in named]),
            "board_flash_faults": len(flash),
            "board_flash_wrong": sum(_failed(outcome) for outcome in flash),
            "board_flash_worst_late_ms": largest(outcome.figures.get("late_ms") for outcome in flash),
            "board_flash_worst_detect_s": largest(outcome.detect_s for outcome in flash),
            "board_resets": len(self.board_resets),
            "board_resets_wrong": sum(_reset_failed(reset) for reset in self.board_resets),
            "board_unarmed_energised_half_cycles": sum(reset.half_cycles for reset in self.board_resets)
            + sum(outcome.unarmed_half_cycles for outcome in played),
        }


def _sum(figures: dict[str, object], *names: str) -> int:
    return sum(value for name in names if isinstance(value := figures[name], int))


def _missed(outcome: Outcome) -> bool:
    """Nobody named a fault that the firmware has to name and that did anything at all: a contact that is to
    weld when it next closes does nothing where it has no occasion to open again.
    """
    acted = outcome.figures.get("acted") != 0.0
    return not outcome.detected and acted and board_fault(outcome.case).contained


def _failed(outcome: Outcome) -> bool:
    contained = board_fault(outcome.case).contained
    return _missed(outcome) or outcome.over_limit or (outcome.wrong_cause and contained)


def _reset_failed(reset: ResetOutcome) -> bool:
    return reset.half_cycles > 0 or reset.alive_edges or reset.wrong


def play(
    size: Size, seed: int, workers: int, how: Executor = processes, step: Step | None = None
) -> Campaign:
    """Play everything.

    Args:
        size: how much.
        seed: of everything that is drawn.
        workers: processes.
        how: executor, as of spread.py.
        step: called after every piece of work, with its name.
    """
    done = step or (lambda _: None)
    campaign = Campaign()
    for result in how(do, tasks(size, seed), workers):
        campaign.core.take(result)
        campaign.model |= result.model
        done("core")
    campaign.board = run_board_faults(board_cases(size.board_faults, seed), workers=workers, executor=how)
    done("board")
    campaign.board_resets = run_board_resets(size.board_resets, seed, workers=workers, executor=how)
    done("board resets")
    return campaign
