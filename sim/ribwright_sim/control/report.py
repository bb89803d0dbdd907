"""From runs to build/control.json: one figure a key, and a file beside it for people.

figures: of control.json so far, by key; what is found is put there. among: the stacks that were run, all at
one target. runs: one a stack, in their order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from .contest import Field, compete, worth
from .core_run import compete_core
from .gate import ahead_of_reference, missed, not_ahead
from .methods import Method
from .trial import Figures

# What is compared between two ways of running the same stacks.
IN_KELVIN = ("overshoot_k", "hold_rms_k", "dip_k", "after_contact_k", "undershoot_k")


def title(target_c: float, window_s: float) -> str:
    """Part of a key: temperature and window."""
    return f"{target_c:.0f}c_{window_s:.0f}s"


def put(figures: dict[str, float], name: str, among: Field, runs: Sequence[Figures], window_s: float) -> None:
    """Write what a method was worth under its keys, which begin with its name."""
    for key, value in worth(among, runs).items():
        figures[f"{name}_{title(among.target_c, window_s)}_{key}"] = value


def farthest_k(one: Sequence[Figures], other: Sequence[Figures]) -> float:
    """Largest difference in any figure that is a temperature [K]; one, other: two ways on the same stacks."""
    apart = [
        abs(float(getattr(a, name)) - float(getattr(b, name)))
        for a, b in zip(one, other, strict=True)
        for name in IN_KELVIN
    ]
    return max(apart)


def run_method(figures: dict[str, float], method: Method, among: Field, window_s: float) -> None:
    """Run one method on the stacks and write what it was worth."""
    put(
        figures,
        method.name,
        among,
        compete(among, method.kind, method.parameters, window_s=window_s),
        window_s,
    )


def run_ours(
    figures: dict[str, float],
    among: Field,
    gains: dict[str, float],
    window_s: float,
    pool: ProcessPoolExecutor,
    prefix: str = "",
) -> None:
    """Run the firmware's control on the stacks, without and with the maker's signal.

    gains: as core.gains.GAIN_NAMES. pool: from core_run.crew(). prefix: what stands before the title in the
    keys, "" or another seed's number after an underscore.
    """
    for name, signal in (("ours", False), ("ours_signal", True)):
        runs = compete_core(among, gains, window_s=window_s, signal=signal, pool=pool)
        put(figures, f"{name}{prefix}", among, runs, window_s)


def verdict(figures: Mapping[str, float], bare: list[str], third: int) -> dict[str, object]:
    """Every row that was missed, and where the board's control is ahead of what.

    Args:
        figures: of control.json.
        bare: names of the methods it must be ahead of.
        third: the seed that is run once; its rows are told, not judged.
    """
    return {
        "missed": missed(figures),
        "not_ahead": not_ahead(figures, bare),
        "ahead_of_reference_150c": ahead_of_reference(figures, "150c"),
        "ahead_of_reference_177c": ahead_of_reference(figures, "177c"),
        f"missed_on_{third}": missed(figures, f"{third}_"),
    }


def rounded(figures: Mapping[str, object]) -> dict[str, object]:
    """The figures for the file: five digits are more than anything here is worth."""
    return {
        key: float(f"{value:.5g}") if isinstance(value, (float, np.floating)) else value
        for key, value in figures.items()
    }


COLUMNS = (
    "overshoot_k_p50",
    "overshoot_k_p95",
    "overshoot_k_max",
    "settle_over_bound_p50",
    "settle_over_bound_p95",
    "hold_rms_k_p50",
    "hold_rms_k_p95",
    "excess_dip_k_p95",
    "excess_recover_s_p95",
    "relay_cycles_per_min",
    "joint_pass",
)
HEADS = (
    "over p50",
    "p95",
    "max",
    "settle p50",
    "p95",
    "ripple p50",
    "p95",
    "dip",
    "back s",
    "on/min",
    "joint",
)


def table(figures: Mapping[str, object], names: Sequence[str], where: str) -> list[str]:
    """A table in Markdown of several methods at one temperature and window.

    Args:
        figures: of control.json.
        names: of the methods, in their order.
        where: part of their keys, from title().
    """
    lines = [f"| {where} | " + " | ".join(HEADS) + " |", "| --- |" + " ---: |" * len(HEADS)]
    for name in names:
        cells = [figures.get(f"{name}_{where}_{column}") for column in COLUMNS]
        if isinstance(cells[0], float):
            lines.append(f"| {name} | " + " | ".join(f"{cell:.3g}" for cell in cells) + " |")
    return lines
