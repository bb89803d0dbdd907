"""What `check` finds in rig and profile files, for people and for programs."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ribwright_board.core.rig_values import Rig

from . import profiles, rigs
from .errors import FileError, UsageError
from .side.lay import pair_sentences
from .side.overhang import overhang_lines
from .toml_lines import read_toml

RIG, PROFILE = "rig", "profile"
SEVERAL = "Not checked against a rig, since there are several: say which with --rig FILE."


@dataclass
class Report:
    """What was found in one file.

    path: the file. kind: "rig", "profile" or "file" when it could not be read. errors: everything wrong with
    it. sentences: what it does, when nothing is wrong. warnings: what to mind all the same. hash: what names
    it, when nothing is wrong.
    """

    path: Path
    kind: str
    errors: list[FileError] = field(default_factory=list)
    sentences: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    hash: str = ""

    def lines(self) -> list[str]:
        """One line for every mistake, or the summary."""
        if self.errors:
            return [error.line() for error in self.errors]
        return [
            f"{self.path}: a good {self.kind} file ({self.hash})",
            *(f"  {text}" for text in self.sentences),
            *(f"  MIND: {text}" for text in self.warnings),
        ]

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {
            "file": str(self.path),
            "kind": self.kind,
            "good": not self.errors,
            "hash": self.hash,
            "problems": [error.as_json() for error in self.errors],
            "summary": self.sentences,
            "warnings": self.warnings,
        }


def kind_of(path: Path) -> str:
    """Whether a file describes a rig or a bend, by the tables it has.

    path: file to read. Raises FileError when it cannot be read.
    """
    values, _ = read_toml(path)
    if "stages" in values or "piece" in values:
        return PROFILE
    if "zones" in values or "pins" in values or "mains" in values:
        return RIG
    raise FileError(
        f"{path} has neither [[zones]] of a rig nor [[stages]] of a profile",
        "start from the files that `ribwright new` writes",
        code="which_file",
        where={"file": str(path), "line": 1},
    )


def check_files(
    files: Sequence[Path], rig_path: Path | None, unit: str | None, lengths: str = "mm"
) -> tuple[list[Report], int]:
    """Check files, rigs first so that profiles can be checked against the one rig among them, or else against
    the one beside them.

    files: what to check. rig_path: rig for the profiles, also checked. unit: for the summaries, None for
    each file's own. lengths: for what is warned of.
    Returns a report for each file in the order given, and the exit code.
    """
    reports: dict[Path, Report] = {}
    for path in [*([rig_path] if rig_path else []), *files]:
        try:
            reports[path] = Report(path, kind_of(path))
        except FileError as error:
            reports[path] = Report(path, "file", [error])
    found: list[Rig] = []
    for report in reports.values():
        if report.kind == RIG:
            _check_rig(report, unit, found)
    if rig_path and reports[rig_path].kind == PROFILE:
        seen = f"{rig_path} is a profile, --rig needs a rig file"
        reports[rig_path].errors.append(FileError(seen, "name the rig's file", code="which_file"))
    # With several rigs there is no telling which one a profile is meant for, unless --rig says so.
    rig = found[0] if found and (rig_path or len(found) == 1) else None
    for report in reports.values():
        if report.kind == PROFILE:
            _check_profile(report, unit, rig, lengths, beside=not found)
    bad = any(report.errors for report in reports.values())
    return list(reports.values()), FileError.exit_code if bad else 0


def _check_rig(report: Report, unit: str | None, found: list[Rig]) -> None:
    report.errors += rigs.check_rig(report.path)
    if report.errors:
        return
    try:
        rig_file = rigs.load_rig(report.path)
    except FileError as error:
        report.errors.append(error)
        return
    found.append(rig_file.rig)
    report.hash = rig_file.hash
    report.sentences = rigs.describe(rig_file.mapping, unit)


def _rig_beside(path: Path) -> tuple[Rig | None, str]:
    """The rig that lies beside a profile, as `rehearse` and `plan` take it, with words on which it was."""
    beside = path.parent / rigs.BESIDE
    if not beside.is_file():
        return None, "Not checked against a rig: add its file, or --rig FILE."
    try:
        return rigs.load_rig(beside).rig, f"Checked against {beside}, which lies beside it."
    except FileError as error:
        return None, f"Not checked against {beside}, which lies beside it and has a mistake: {error.line()}"


def _check_profile(report: Report, unit: str | None, rig: Rig | None, lengths: str, *, beside: bool) -> None:
    which = ""
    if rig is None:
        rig, which = _rig_beside(report.path) if beside else (None, SEVERAL)
    report.errors += profiles.check_profile(report.path, rig)
    if report.errors:
        return
    profile = profiles.load_profile(report.path, rig)
    report.hash = profile.hash
    report.sentences = profiles.describe(profile.mapping, unit)
    if profile.side is not None:
        report.sentences += pair_sentences(profile.side)
    if rig is not None:
        report.warnings = overhang_lines(profile.mapping, rig, lengths, profile.side)
    if which:
        report.sentences.append(which)


def draw_the_one(reports: Sequence[Report], picture: Path, unit: str | None) -> None:
    """Draw the one profile among the files.

    reports: of check_files(), all good. picture: where to. unit: to show. Raises UsageError where there is
    not one profile, or the picture is of no known kind, and FileError where it cannot be written.
    """
    found = [report for report in reports if report.kind == PROFILE]
    if len(found) != 1:
        raise UsageError(
            f"--picture draws one profile, there are {len(found)} among the files", "name one profile"
        )
    from .check_draw import save

    save(profiles.load_profile(found[0].path).mapping, picture, unit)
    found[0].sentences.append(f"Drawn in {picture}.")
