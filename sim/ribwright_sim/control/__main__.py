"""`python -m ribwright_sim.control FOLDER`: every method on the drawn stacks: figures, notes and a table."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

from ribwright_board.core.gains import gains_for
from ribwright_board.core.zone import BUMP_DUTY
from ribwright_sim.measure.timing import machine

from . import laws
from .contest import Field, compete, field
from .core_run import compete_core, crew
from .fit_report import fit_figures
from .methods import Method, methods, scaled
from .ramp_report import ramp_figures
from .report import farthest_k, put, rounded, run_method, run_ours, table, title, verdict
from .rules import two_point_refused
from .single import SingleLoop
from .tune_report import tune_figures
from .wood_report import wood_figures

UNSEEN, THIRD = 20240602, 777
PLANTS, COMPARED = 200, 20
TARGETS_C, WINDOWS_S = (150.0, 177.0), (1.0, 2.0)


def say(text: str) -> None:
    """One line of progress; text: without its line feed."""
    sys.stderr.write(text + "\n")


def _head(among: Field, count: int) -> Field:
    return replace(
        among,
        **{name: getattr(among, name)[:count] for name in ("places", "plants", "bound_s", "best_dip_k")},
        best_recover_s=among.best_recover_s[:count],
    )


def _agreement(figures: dict[str, float], among: Field, pool: ProcessPoolExecutor) -> None:
    """How far the compiled copy, and single precision, are from the firmware's law."""
    few, gains = _head(among, COMPARED), gains_for(1000)
    true = compete_core(few, gains, signal=True, pool=pool)
    copy = compete(few, laws.ZONE, [scaled(gains, BUMP_DUTY)] * len(few.places), signal=True)
    single = compete_core(few, gains, signal=True, loop=SingleLoop, pool=pool)
    figures["kernel_vs_core_max_k"] = max(figures.get("kernel_vs_core_max_k", 0.0), farthest_k(true, copy))
    worst_k = max(figures.get("float32_vs_double_max_k", 0.0), farthest_k(true, single))
    figures["float32_vs_double_max_k"] = worst_k


def _temperature(
    figures: dict[str, float], target_c: float, plants: int, pool: ProcessPoolExecutor
) -> list[Method]:
    """Everything at one temperature; the methods of the one-second window."""
    among = field(UNSEEN, plants, target_c)
    at = f"{target_c:.0f}c"
    figures[f"stacks_{at}"] = len(among.places)
    first: list[Method] = []
    for window_s in WINDOWS_S:
        gains = gains_for(round(1000 * window_s))
        run_ours(figures, among, gains, window_s, pool)
        found = methods(among, window_s, gains)
        for place, method in enumerate(found):
            run_method(figures, method, among, window_s)
            if place % 10 == 9:
                say(f"control: {title(target_c, window_s)}, {place + 1} of {len(found)} methods")
        reference = next(one for one in found if one.name == "reference_law")
        runs = compete(among, reference.kind, reference.parameters, window_s=window_s, signal=True)
        put(figures, "reference_law_signal", among, runs, window_s)
        first = first or found
    doubled = compete_core(among, gains_for(1000), noise_k=0.6, pool=pool)
    put(figures, "ours_noise_x2", among, doubled, 1.0)
    _agreement(figures, among, pool)
    refused = [two_point_refused(one, target_c) for one in among.plants]
    figures[f"two_point_refused_share_{at}"] = sum(refused) / len(refused)
    third = field(THIRD, plants, target_c)
    for window_s in WINDOWS_S:
        run_ours(figures, third, gains_for(round(1000 * window_s)), window_s, pool, f"_{THIRD}")
    return first


def measure(folder: Path, plants: int) -> dict[str, object]:
    """Run everything and write the files.

    Args:
        folder: where control.json, control_notes.json and control.md go.
        plants: how many to draw of each seed.
    """
    began = time.monotonic()
    figures: dict[str, float] = {}
    listed: list[Method] = []
    with crew() as pool:
        for target_c in TARGETS_C:
            listed = _temperature(figures, target_c, plants, pool)
            say(f"control: {target_c:.0f} C done after {time.monotonic() - began:.0f} s")
        figures |= wood_figures(plants, pool)
        say(f"control: wood done after {time.monotonic() - began:.0f} s")
    figures |= ramp_figures() | fit_figures() | tune_figures()
    for target_c in TARGETS_C:
        prefix = f"ours_noise_x2_{title(target_c, 1.0)}_overshoot_k_p95"
        figures["noise_x2_overshoot_k_p95"] = max(
            figures.get("noise_x2_overshoot_k_p95", 0.0), figures[prefix]
        )
    bare = [one.name for one in listed if one.bare]
    notes = verdict(figures, bare, THIRD)
    known: dict[str, object] = {
        "seed": UNSEEN,
        "tuned_on_seed": 20240601,
        "plants": plants,
        "machine": machine(),
    }
    known["seconds"] = round(time.monotonic() - began, 1)
    known["gate_rows_missed"] = len(list(notes["missed"]))  # type: ignore[call-overload]
    known["not_ahead_of_bare"] = len(list(notes["not_ahead"]))  # type: ignore[call-overload]
    written = rounded({**known, **figures})
    names = ["ours", "ours_signal", "reference_law", "reference_law_signal"]
    names += [one.name for one in listed if one.name != "reference_law"]
    lines: list[str] = []
    for target_c in TARGETS_C:
        for window_s in WINDOWS_S:
            lines += [*table(written, names, title(target_c, window_s)), ""]
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "control.json").write_text(json.dumps(written, indent=1) + "\n", encoding="utf-8")
    (folder / "control_notes.json").write_text(json.dumps(notes, indent=1) + "\n", encoding="utf-8")
    (folder / "control.md").write_text("\n".join(lines), encoding="utf-8")
    return {**known, **notes}


def main(arguments: Sequence[str] | None = None) -> int:
    """The command; arguments: those after the program's name, None for the command line's own. Gives 0."""
    parser = argparse.ArgumentParser(prog="python -m ribwright_sim.control", description=__doc__)
    parser.add_argument("folder", nargs="?", default="build", type=Path)
    parser.add_argument("--plants", type=int, default=PLANTS, help="stacks to draw of each seed")
    asked = parser.parse_args(arguments)
    for name, value in measure(asked.folder, asked.plants).items():
        sys.stdout.write(f"  {name}: {value}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
