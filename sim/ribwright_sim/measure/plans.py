"""What `make bench` measures of plans: many woods, thicknesses and ways of wetting."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from ribwright_sim.campaign.spread import processes

from .plan_trial import Case, Outcome, cases, outcome


def measured(
    say: Callable[[str], None], *, workers: int, some: list[Case] | None = None
) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes of the sweep.

    Args:
        say: takes a line of progress.
        workers: processes.
        some: cases, all of them where absent.
    """
    work = some or cases()
    say(f"plans: {len(work)} pieces, each planned and tried again")
    found: list[Outcome] = []
    for one in processes(outcome, work, workers):
        found.append(one)
        if len(found) % 6 == 0:
            say(f"plans: {len(found)} of {len(work)}")
    found.sort(key=lambda one: work.index(one.case))
    return figures_of(found)


def figures_of(found: list[Outcome]) -> tuple[dict[str, object], dict[str, object]]:
    """The sums, and a row for every piece.

    Args:
        found: of the sweep.
    """
    plans = [one for one in found if one.accepted]
    refused = [one for one in found if not one.accepted]
    two_mm = [one for one in plans if one.case.thickness_mm == 2.0]
    figures: dict[str, object] = {
        "plans": len(found),
        "plans_ok": sum(not one.wrong for one in plans),
        "plans_refused": sum(not one.wrong for one in refused),
        "plans_wrong": sum(bool(one.wrong) for one in found),
        "plans_least_margin_k": min((one.least_k for one in plans), default=None),
        "plans_refused_best_margin_k": max((one.least_k for one in refused), default=None),
        "plan_s_median": float(np.median([one.plan_s for one in found])),
        "plan_s_max": max(one.plan_s for one in found),
        "plans_2mm_bend_c": [min(one.bend_c for one in two_mm), max(one.bend_c for one in two_mm)]
        if two_mm
        else None,
        "plans_2mm_set_min": [min(one.set_min for one in two_mm), max(one.set_min for one in two_mm)]
        if two_mm
        else None,
    }
    rows = [
        {
            "species": one.case.species,
            "thickness_mm": one.case.thickness_mm,
            "wetted": one.case.wetted,
            "plan": one.grade or f"refused: {one.limit}",
            "bend_c": one.bend_c,
            "set_min": one.set_min,
            "least_k": round(one.least_k, 1),
            "plan_s": round(one.plan_s, 1),
            "wrong": list(one.wrong),
        }
        for one in found
    ]
    return figures, {
        "plans": "least_k: of a plan by the board's controller on its stiffest rig, else the best of "
        "the grid",
        "plans_rows": rows,
    }


def broken(figures: Mapping[str, object]) -> list[str]:
    """Names of the figures that are not what they have to be.

    Args:
        figures: of measured().
    """
    return [name for name in ("plans_wrong",) if figures[name]]
