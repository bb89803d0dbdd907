"""What runs have shown, put into a rig file with where it came from.

[fit] is for the simulator; [zones.wood] is for the board's estimate of the middle of the wood.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import tomlkit

from ribwright_board import __version__
from ribwright_board.core.units import in_unit_difference

from .rigs import RigFile, get_document, put_document

if TYPE_CHECKING:
    from tomlkit.items import Table

MOST_RUNS = 8
HEAD = (
    "Found by `ribwright fit --write` from the runs below, for rehearse, tune and the virtual rig.",
    "The board does not use it. Factors on materials.csv, lag and escape in s, weight as a share; sigmas",
    "in the same units. Nothing was drawn by chance, so there is no seed. Remove the table to forget it.",
)
WOOD_HEAD = (
    "Found by `ribwright fit --wood --write` beside a second thermocouple: the estimate of the wood's middle",
    "goes by it for wood like that scrap. Remove the table to go by the nominal figures.",
)


def write_fit(
    rig: RigFile,
    values: Mapping[str, float | Sequence[float]],
    sigmas: Mapping[str, float | Sequence[float]],
    residual_k: float,
    runs: Sequence[str],
    estimate: Mapping[str, Any] | None = None,
) -> None:
    """Put what was found into a rig file, keeping everything else of it as it stands.

    rig: the file. values, sigmas: by parameter, a list where each zone has its own. residual_k: left over
    [K]. runs: which runs, a few words each. estimate: as in fit.fitted(); one that is not useful, or None,
    leaves the zones as they are.
    """
    document = get_document(rig.path)
    document.pop("fit", None)
    table = tomlkit.table()
    for line in HEAD:
        table.add(tomlkit.comment(line))
    table["for_rig"] = rig.hash
    table["fitted_by"] = f"ribwright {__version__}, least squares, {residual_k:.2f} K left over"
    named = list(runs[:MOST_RUNS])
    if len(runs) > MOST_RUNS:
        named[-1] = f"and {len(runs) - MOST_RUNS + 1} more"
    table["runs"] = named
    for key, part in (("values", values), ("sigmas", sigmas)):
        inner = tomlkit.table()
        for name, value in part.items():
            inner[name] = [round(one, 4) for one in value] if isinstance(value, Sequence) else round(value, 4)
        table[key] = inner
    document["fit"] = table
    if estimate is not None and estimate["useful"]:
        zone = document["zones"][rig.zone_names.index(estimate["zone"])]
        zone["wood"] = _wood_table(rig, estimate)
    put_document(rig.path, document)


def _wood_table(rig: RigFile, estimate: Mapping[str, Any]) -> Table:
    """What [zones.wood] holds of a calibration."""
    table = tomlkit.table()
    for line in WOOD_HEAD:
        table.add(tomlkit.comment(line))
    for figure in estimate["figures"]:
        table[figure["name"]] = figure["value"]
    table["band"] = round(in_unit_difference(estimate["band_k"], rig.mapping["unit"]), 2)
    table["thickness_mm"] = estimate["thickness_mm"]
    table["wetted"] = estimate["wetted"]
    table["for_rig"] = rig.hash
    said = f"ribwright {__version__}, {estimate['residual_k']:.2f} K left over, {estimate['species']}"
    table["fitted_by"] = said[:80]
    table.add(tomlkit.nl())
    return table
