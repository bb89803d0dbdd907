"""The whole command: ask, plan with a bar, write profile, page and picture, say what was found."""

import json
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from ribwright_host.errors import FileError, NoPlanError, UsageError
from ribwright_host.new import Asker
from ribwright_host.profiles import load_profile, problem_errors
from ribwright_host.rehearse import find_rig
from ribwright_host.rigs import RigFile
from ribwright_host.side.asking import side_text
from ribwright_host.side.facts import problems_of as problems_of_side
from ribwright_host.writing import must_take_files, unwritable

from . import draw, page
from .jobs import JOBS
from .piece import Asked, asked_for, file_or_options, read_piece
from .plan import Planned, planned
from .profile_text import profile_text
from .spring import Spring, learned_from, over_bend
from .words import summary

ELSEWHERE = "name another file with -o"


def run(
    piece_path: Path | None,
    options: Mapping[str, Any],
    *,
    rig_path: Path | None,
    out: Path,
    book: Path | None,
    unit: str | None,
    lengths: str,
    yes: bool,
    replace: bool,
    as_json: bool,
) -> None:
    """Plan a piece.

    piece_path: piece file, or None. options: keys of a piece file, None where not given, and `like`, a common
    job to begin from or "list" to name them. rig_path: as --rig. out: the profile to write. book: as --book.
    unit: of the profile, None for the rig's. lengths: to show. yes: take suggestions without asking. replace:
    write over files that are there. as_json: answer for programs. Raises FileError, UsageError, and
    NoPlanError where a heat limit stands against it.
    """
    options = dict(options)
    like = options.pop("like", None)
    if like == "list":
        for name, job in JOBS.items():
            click.echo(f"{name:<13} {job.what} ({job.file(name).name})")
        return
    _free(out, replace=replace)
    rig, chosen = find_rig(out, rig_path)
    unit = unit or rig.rig.unit
    given = file_or_options(piece_path, options, read_piece)
    given = {**_job(like, drawn="outline" in given), **given}
    asker = Asker(take_defaults=yes) if yes or (sys.stdin.isatty() and not as_json) else None
    asked = asked_for(given, asker)
    _side_fits(asked, rig)
    must_take_files(out.parent, ELSEWHERE)
    spring = learned_from(book, str(asked.piece["species"]))
    try:
        found = _with_a_bar(rig, asked, unit, lengths, spring)
    except NoPlanError as no:
        if no.where.get("tried"):
            _refusal_picture(no, asked, unit, out)
        raise
    found.figures["over_bend"] = over_bend(spring, found.figures)
    written = write(found, out, lengths, side=asked.side)
    if as_json:
        short = {key: value for key, value in found.figures.items() if key not in ("tried", "curve")}
        click.echo(json.dumps(short | {"files": [str(one) for one in written]}, sort_keys=True))
        return
    for line in summary(found.figures, chosen, lengths):
        click.echo(line)
    for one in written:
        click.echo(f"wrote {one}")
    rig_words = f" --rig {rig_path}" if rig_path else ""
    click.echo(f"Next: ribwright rehearse {out}{rig_words}  (the board's own controller has the last word)")


def _job(like: str | None, *, drawn: bool) -> dict[str, Any]:
    """Keys of a common job's piece, without those that a drawing tells; none without a job."""
    if like is None:
        return {}
    if like not in JOBS:
        raise UsageError(
            f"--like {like} is no job; known are {', '.join(JOBS)}", "name one of them", code="piece"
        )
    told = ("tightest_radius_mm", "length_mm") if drawn else ()
    return {key: value for key, value in JOBS[like].piece.items() if key not in told}


def _side_fits(asked: Asked, rig: RigFile) -> None:
    """Raise UsageError where the strips do not fit the rig's blankets."""
    problems = problems_of_side(asked.side, {"piece": asked.piece}, rig.rig)
    if problems:
        first = problem_errors(Path("the strips"), {}, problems)[0]
        raise UsageError(first.seen.replace(" line 1:", ""), first.hint, code=first.code)


def _free(out: Path, *, replace: bool) -> None:
    if out.exists() and not replace:
        raise FileError(
            f"{out} exists and is left alone",
            "name another file with -o, or add --replace",
            code="exists",
            where={"file": str(out)},
        )


def _with_a_bar(rig: RigFile, asked: Asked, unit: str, lengths: str, spring: Spring) -> Planned:
    from rich.console import Console

    console = Console(stderr=True)
    if not console.is_terminal:
        return planned(rig, asked, unit, lengths=lengths, set_c=spring.set_c)
    with console.status("simulating") as status:
        return planned(
            rig,
            asked,
            unit,
            lengths=lengths,
            set_c=spring.set_c,
            tell=lambda what: status.update(f"simulating: {what}"),
        )


def write(
    found: Planned, out: Path, lengths: str = "mm", *, side: Mapping[str, Any] | None = None
) -> list[Path]:
    """Write profile, page, pictures and figures, in this order; the profile is read back before it counts.

    found: a plan, its figures with their over_bend. out: the profile. lengths: to show.
    side: how the strips lie, checked, or None. Raises FileError.
    """
    stem = out.with_suffix("")
    stem = stem.with_name(stem.name + "_plan")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        png, svg = draw.save(found.figures, stem)
        text = page.page_text(
            found.figures, found.mapping, out.name, svg.read_text(encoding="utf-8"), lengths
        )
        html, data = stem.with_name(stem.name + ".html"), stem.with_name(stem.name + ".json")
        html.write_text(text, encoding="utf-8", newline="\n")
        data.write_text(json.dumps(found.figures, sort_keys=True) + "\n", encoding="utf-8", newline="\n")
        partly = out.with_name(out.name + ".part")
        text = profile_text(found.mapping, found.purposes, found.figures)
        partly.write_text(text + (f"\n{side_text(side)}" if side else ""), encoding="utf-8", newline="\n")
        read = load_profile(partly)
        if read.mapping != found.mapping or dict(read.side or {}) != dict(side or {}):
            raise FileError(f"{partly} does not read back as it was meant", "report this", code="mistake")
        os.replace(partly, out)  # noqa: PTH105 - the same on every system, in one act
    except OSError as error:
        raise unwritable(out, error, ELSEWHERE) from None
    return [out, html, png, svg, data]


def _refusal_picture(no: NoPlanError, asked: Asked, unit: str, out: Path) -> None:
    """What was tried, drawn beside where the profile would be; its paths go with the error."""
    stem = out.with_suffix("")
    curve = asked.curve
    figures = {
        "name": f"{asked.name}, refused",
        "unit": unit,
        "tried": no.where["tried"],
        "rigs": no.where["rigs"],
        "bends": [],
        "curve": None if curve is None else curve.as_json(),
    }
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        files = draw.save(figures, stem.with_name(stem.name + "_refused"))
    except OSError:
        # The refusal is what matters; a picture of it is not.
        return
    no.where["files"] = [str(one) for one in files]
    no.hint += f"; what was tried: {files[0]}"
