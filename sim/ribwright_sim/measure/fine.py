"""Make reference_samples.csv: the reference problem on 384 cells at a tolerance of 1e-8 by CVODE.

`python -m ribwright_sim.measure.fine FILE` takes about ten seconds and needs the extras `fast` and `peers`.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ribwright_sim import reference as ref

from .peers import cvode

FINENESS, TOLERANCE = 8, 1e-8


def write(path: Path) -> None:
    """Write the samples with a head that says how they were made.

    Args:
        path: of the file, written anew.
    """
    cells = tuple(FINENESS * tenths for tenths in ref.TENTHS)
    trace_c = cvode(cells, TOLERANCE, ref.END_S)
    lines = [
        f"# Reference problem (reference.py), {sum(cells)} cells, CVODE banded BDF (scikit-sundae 1.2.0),",
        f"# rtol = atol = {TOLERANCE:g}, restarted at every relay edge; python -m ribwright_sim.measure.fine",
        "time_s,thermocouple_c",
        *(f"{second},{value:.5f}" for second, value in enumerate(trace_c)),
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
