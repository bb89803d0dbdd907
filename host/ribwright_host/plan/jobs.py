"""Common jobs of a small shop: a piece each to begin from, and the shipped profiles planned for them.

`python -m ribwright_host.plan.jobs --write` plans them anew for the shipped rigs and writes the library.
"""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ribwright_host.rigs import load_rig

from .piece import asked_for
from .profile_text import profile_text

LIBRARY = Path(__file__).parent.parent / "library"
TWO_ZONES, ONE_ZONE = "rig_two_zone_120v.toml", "rig_one_zone_120v.toml"
SIDE: dict[str, Any] = {
    "kind": "side",
    "species": "sapele",
    "cut": "quartersawn",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "tightest_radius_mm": 55,
    "wetted": "soaked",
}


@dataclass(frozen=True)
class Job:
    """A common job. what: in a few words. piece: keys of a piece file. rig: the shipped rig it is planned
    for.
    """

    what: str
    piece: dict[str, Any]
    rig: str = TWO_ZONES

    def file(self, name: str) -> Path:
        """Where its shipped profile lies.

        name: of the job.
        """
        return LIBRARY / f"planned_{name.replace('-', '_')}.toml"


# Radii and sizes of our own scenario: common practice, no source.
JOBS: dict[str, Job] = {
    "waist": Job("a side with a waist", SIDE),
    "teardrop": Job("a side without a waist", {**SIDE, "shape": "waistless", "tightest_radius_mm": 90}),
    "cutaway": Job("a side with a cutaway", {**SIDE, "shape": "cutaway", "tightest_radius_mm": 45}),
    "long-blanket": Job("a side under one long blanket", SIDE, ONE_ZONE),
    "laminated": Job("two plies bent together", {**SIDE, "thickness_mm": 0.9, "plies": 2}),
    "bindings": Job(
        "bindings and linings as a batch",
        {**SIDE, "kind": "batch", "thickness_mm": 1.5, "width_mm": 6, "pieces": 8},
    ),
    "touch-up": Job(
        "one place bent again", {**SIDE, "kind": "touch-up", "shape": "place", "tightest_radius_mm": 65}
    ),
}


def planned_text(name: str) -> str:
    """The profile of a job as it is shipped.

    name: of JOBS. Raises as plan.planned().
    """
    from .plan import planned

    job = JOBS[name]
    asked = asked_for(job.piece, None, f"{job.piece['species']} {name}")
    found = planned(load_rig(LIBRARY / job.rig), asked, "C")
    return profile_text(found.mapping, found.purposes, found.figures)


def main(arguments: list[str]) -> int:
    """Write the library's planned profiles, all or those named; says which differ without --write.

    arguments: names of jobs, and --write.
    """
    names = [name for name in arguments if name in JOBS] or list(JOBS)
    stale = 0
    for name in names:
        path, text = JOBS[name].file(name), planned_text(name)
        if path.is_file() and path.read_text(encoding="utf-8") == text:
            continue
        stale += 1
        if "--write" in arguments:
            path.write_text(text, encoding="utf-8", newline="\n")
        sys.stdout.write(f"{path.name} {'written' if '--write' in arguments else 'differs'}\n")
    return 0 if "--write" in arguments else min(stale, 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
