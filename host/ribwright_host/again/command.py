"""The whole command: read side one, say what is taken over, write the profile."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ribwright_host.book.quantities import length_mm
from ribwright_host.errors import FileError
from ribwright_host.logbook import read_run
from ribwright_host.profiles import load_profile
from ribwright_host.rigs import RigFile, load_rig
from ribwright_host.runlog import RunLog
from ribwright_host.side.facts import other
from ribwright_host.writing import unwritable

from .again import Again, Wish, repeated, warm_words
from .text import profile_text


@dataclass(frozen=True)
class Written:
    """What was done. out: the profile. found: what is in it. run: side one. warm: of the present readings."""

    out: Path
    found: Again
    run: RunLog
    warm: str = ""

    @property
    def hand(self) -> str | None:
        """The hand of side two, None where side one's is not known."""
        return None if self.found.hand is None else other(self.found.hand)

    def lines(self) -> list[str]:
        """All of it for people."""
        stages = sorted(self.found.took, key=lambda one: one.number)
        told = [
            *self.found.words,
            *([self.warm] if self.warm else []),
            *(f"  {one.line()}" for one in stages),
        ]
        return [*told, f"wrote {self.out}"]

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        stages = sorted(self.found.took, key=lambda one: one.number)
        return {
            "file": str(self.out),
            "simulated": self.run.simulated,
            "hand": self.hand,
            "piece": self.found.piece,
            "words": [*self.found.words, *([self.warm] if self.warm else [])],
            "stages": [
                {"stage": one.number, "name": one.name, "asked": one.stages, "words": one.sentence}
                for one in stages
            ],
        }


def rig_beside(run: Path, rig_path: Path | None) -> RigFile | None:
    """The rig of side two: --rig, or rig.toml beside the run; None without one.

    run: its file. rig_path: as --rig. Raises FileError for a rig file with a mistake.
    """
    if rig_path is not None:
        return load_rig(rig_path)
    near = run.with_name("rig.toml")
    return load_rig(near) if near.is_file() else None


def run(
    path: Path,
    rig: RigFile | None,
    *,
    out: Path | None,
    thickness: str | None,
    up_to: int | None,
    same_rig: bool,
    replace: bool,
    board_rig: str | None = None,
    now_c: Sequence[float] = (),
) -> Written:
    """Repeat a run as a profile, and write it.

    path: CSV of the run, or the board's log. out: profile to write, None for one beside the run. rig: of side
    two, or None. thickness: of its wood, in words with a unit, or None. up_to, same_rig: as Wish. replace:
    write over a file that is there. board_rig: hash of the connected board's rig, now_c: its readings, C.
    Raises FileError and UsageError.
    """
    side_one = read_run(path)
    target = out or path.with_name(f"{path.stem}-again.toml")
    if target.exists() and not replace:
        raise FileError(
            f"{target} exists and is left alone",
            "name another file with -o, or add --replace",
            code="exists",
            where={"file": str(target)},
        )
    wish = Wish(
        str(path),
        None if rig is None else rig.rig,
        board_rig or (None if rig is None else rig.hash),
        same_rig,
        None if thickness is None else length_mm(thickness, "the thickness", 0.4, 6.0),
        up_to,
    )
    found = repeated(side_one, wish)
    _write(found, target)
    return Written(target, found, side_one, warm_words(side_one, now_c, found.mapping["unit"]))


def _write(found: Again, target: Path) -> None:
    """The file, read back before it counts."""
    partly = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partly.write_text(profile_text(found), encoding="utf-8", errors="replace", newline="\n")
        read = load_profile(partly)
        if read.mapping != found.mapping or (read.side or None) != (found.side or None):
            raise FileError(f"{partly} does not read back as it was meant", "report this", code="mistake")
        os.replace(partly, target)  # noqa: PTH105 - the same on every system, in one act
    except OSError as error:
        raise unwritable(target, error, "name another file with -o") from None


def readings_c(status: Mapping[str, Any]) -> list[float]:
    """What a board's thermocouples read, C; those that read nothing are left out.

    status: its answer, which may be anything.
    """
    zones = status.get("zones")
    found = []
    for zone in zones if isinstance(zones, list) else ():
        tenths = zone[1] if isinstance(zone, list) and len(zone) > 1 else None
        if isinstance(tenths, int | float) and not isinstance(tenths, bool):
            found.append(tenths / 10)
    return found
