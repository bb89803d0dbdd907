"""The [fit] table of a rig file: what its runs have shown, for the simulator, with where it came from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import tomlkit

from ribwright_board import __version__

from .rigs import RigFile

MOST_RUNS = 8
HEAD = (
    "Found by `ribwright fit --write` from the runs below, for rehearse, tune and the virtual rig.",
    "The board does not use it. Factors on materials.csv, lag and escape in s, weight as a share; sigmas",
    "in the same units. Nothing was drawn by chance, so there is no seed. Remove the table to forget it.",
)


def write_fit(
    rig: RigFile,
    values: Mapping[str, float | Sequence[float]],
    sigmas: Mapping[str, float | Sequence[float]],
    residual_k: float,
    runs: Sequence[str],
) -> None:
    """Put what was found into a rig file, keeping everything else of it as it stands.

    rig: the file. values, sigmas: by parameter, a list where each zone has its own. residual_k: left over
    [K]. runs: which runs, a few words each.
    """
    document = tomlkit.parse(rig.path.read_text(encoding="utf-8"))
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
    new = rig.path.with_name(rig.path.name + ".new")
    new.write_text(tomlkit.dumps(document), encoding="utf-8")
    new.replace(rig.path)
