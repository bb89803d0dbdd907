"""Profile files: read, checked by the firmware's own checker, and put into the bytes a board stores."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ribwright_board.core import profile as core_profile
from ribwright_board.core import units
from ribwright_board.core.errors import Problem
from ribwright_board.core.rig_values import Rig, Zone

from .errors import FileError
from .side import facts as side_facts
from .toml_lines import Place, line_of, read_toml

HASH_DIGITS = 12


def canonical_json(mapping: Mapping[str, Any]) -> bytes:
    """The one spelling of a mapping that is stored and hashed: sorted keys, no spaces, ASCII.

    mapping: checked values.

    >>> canonical_json({"b": 1, "a": "x"})
    b'{"a":"x","b":1}'
    """
    return json.dumps(mapping, sort_keys=True, separators=(",", ":"), allow_nan=False).encode()


def short_hash(data: bytes) -> str:
    """The first 12 hexadecimal digits of SHA-256, which name a file's content.

    data: the bytes. Check value: FIPS 180-4 example for the text abc begins ba7816bf8f01 (from memory).

    >>> short_hash(b"abc")
    'ba7816bf8f01'
    """
    return hashlib.sha256(data).hexdigest()[:HASH_DIGITS]


def problem_errors(path: Path, lines: dict[Place, int], problems: list[Problem]) -> list[FileError]:
    """The firmware's problems with the file and line of each, in the order of the lines.

    path: the file. lines: where its keys stand. problems: as the firmware's check() gives them.
    """
    # A key that states the unit again is the cause; that the plain key is missing only follows from it.
    doubled = [
        (*problem.where[:-1], str(problem.where[-1])[:-2])
        for problem in problems
        if problem.code == "doubled_unit"
    ]
    errors = []
    for problem in problems:
        if problem.code == "missing" and problem.where in doubled:
            continue
        line = line_of(lines, problem.where)
        text, _, hint = problem.text.partition("; ")
        seen = f"{path} line {line}: {problem.place()} {text}"
        where = {"file": str(path), "line": line, "key": [*problem.where]}
        errors.append(FileError(seen, hint, code=problem.code, where=where))
    return sorted(errors, key=lambda error: int(error.where["line"]))


def load_checked(
    path: Path, check: Callable[[dict[str, Any]], list[Problem]]
) -> tuple[dict[str, Any], list[FileError]]:
    """Values of a TOML file and everything wrong with them.

    path: file to read. check: the firmware's checker.
    Raises FileError when the file cannot be read as TOML at all.
    """
    values, lines = read_toml(path)
    return values, problem_errors(path, lines, check(values))


def raise_first(path: Path, errors: list[FileError]) -> None:
    """Raise the first problem, saying how many more there are; do nothing without any.

    path: the file they belong to. errors: as load_checked() gives them.
    """
    if not errors:
        return
    first = errors[0]
    hint = first.hint
    if len(errors) > 1:
        more = f"{len(errors) - 1} more: ribwright check {path}"
        hint = f"{hint} ({more})" if hint else more
    raise FileError(first.seen, hint, code=first.code, where=first.where)


@dataclass(frozen=True)
class ProfileFile:
    """A checked profile file.

    path: where it was read. mapping: its values as the board gets them. data: canonical bytes for the board.
    hash: of data. side: its [side], which stays on the computer, None without one.
    """

    path: Path
    mapping: dict[str, Any]
    data: bytes
    hash: str
    side: dict[str, Any] | None = None

    @property
    def name(self) -> str:
        """The profile's own name."""
        return str(self.mapping["name"])

    @property
    def unit(self) -> str:
        """The file's unit of temperature, "C" or "F"."""
        return str(self.mapping["unit"])


def refuse_other(path: Path, values: Mapping[str, Any], wanted: str) -> None:
    """Refuse a rig where a profile is wanted, or the other way round, before every key of it is a mistake.

    path: the file. values: its tables. wanted: "rig" or "profile". Raises FileError with code which_file.
    """
    tables = {"profile": {"stages", "piece"}, "rig": {"zones", "pins", "mains"}}
    found = [kind for kind, names in tables.items() if names & set(values)]
    if len(found) == 1 and found[0] != wanted:
        raise FileError(
            f"{path} is a {found[0]} file, a {wanted} file is needed here",
            f"name the {wanted}'s file",
            code="which_file",
            where={"file": str(path)},
        )


def check_profile(path: Path, rig: Rig | None = None) -> list[FileError]:
    """Everything wrong with a profile file that can be read.

    path: the file. rig: a checked rig to check zones and ceilings with. Raises FileError as read_toml().
    """
    return load_checked(path, lambda values: problems_of(values, rig))[1]


def problems_of(values: Mapping[str, Any], rig: Rig | None = None) -> list[Problem]:
    """Everything wrong with a profile: what the board would refuse, then what its [side] contradicts.

    values: of a profile file. rig: a checked rig, or None.
    """
    plain, side = side_facts.take_off(values)
    return core_profile.check(plain, rig) + side_facts.problems_of(side, plain, rig)


def load_profile(path: Path, rig: Rig | None = None) -> ProfileFile:
    """A profile file that may be used.

    path: the file. rig: a checked rig, or None. Raises FileError with the first problem.
    """
    values, errors = load_checked(path, lambda values: problems_of(values, rig))
    refuse_other(path, values, "profile")
    raise_first(path, errors)
    mapping, side = side_facts.take_off(values)
    data = canonical_json(mapping)
    return ProfileFile(path, mapping, data, short_hash(data), side if isinstance(side, dict) else None)


def check_for_board(checked: ProfileFile, zone_names: list[str]) -> None:
    """Refuse a profile that names a zone which a board does not have, with the line of it.

    checked: the profile. zone_names: as the board greeted with them. Raises FileError. The board checks the
    ceilings of its zones itself; it is the one that knows them.
    """
    zones = [Zone(name, 0.0, 0.0, units.FIRMWARE_CEILING_C, {}) for name in zone_names]
    load_profile(checked.path, Rig("", "", checked.unit, zones, 1000, 0.0, 10))


def temperature_text(value: float, unit: str, shown: str) -> str:
    """A temperature for people.

    value: in unit. unit: of the file. shown: unit to show, "C" or "F".

    >>> temperature_text(100, "C", "F")
    '212 F'
    """
    number = units.in_unit(units.c_from(value, unit), shown)
    return f"{number:.0f} {shown}"


def describe(mapping: Mapping[str, Any], shown: str | None = None) -> list[str]:
    """What a checked profile does, one plain sentence a stage.

    mapping: checked values. shown: unit to show, None for the file's own.
    """
    unit = str(mapping["unit"])
    shown = shown or unit
    piece = mapping["piece"]
    count = piece.get("pieces", 1)
    size = f"{piece['length_mm']:g} x {piece['width_mm']:g} x {piece['thickness_mm']:g} mm"
    sentences = [
        f"{mapping['name']}: {count} x {piece['species']} {piece['kind']}, {size}, {piece['wetted']}."
    ]
    last: dict[str, float] = {}
    for number, stage in enumerate(mapping["stages"], start=1):
        zones = stage.get("zones", [])
        falls = bool(zones) and all(last.get(zone, stage["target"]) > stage["target"] for zone in zones)
        sentences.append(f"{number}. {_stage_sentence(stage, unit, shown, falls=falls)}")
        last |= dict.fromkeys(zones, stage.get("target", 0.0))
    return sentences


def _stage_sentence(stage: Mapping[str, Any], unit: str, shown: str, *, falls: bool) -> str:
    """One stage in plain words; falls: all its zones come from a higher target."""
    title = f"{stage['name']}: " if "name" in stage else ""
    if stage["kind"] == "cool":
        return f"{title}heat off until every zone is below {temperature_text(stage['below'], unit, shown)}."
    zones = " and ".join(stage["zones"])
    target = temperature_text(stage["target"], unit, shown)
    if "heat_for" in stage:
        mid, face = (temperature_text(stage[key], unit, shown) for key in ("mid_wood", "wood_face"))
        return (
            f"{title}warm {zones} to {target}, hotter while the wood's face is estimated below {face}, until "
            f"its middle is estimated at {mid}; after {stage['longest_min']:g} minutes it goes on, or shuts "
            "down if a thermocouple is not there."
        )
    if stage["kind"] == "ramp":
        rate_k = units.k_from(stage["rate_per_min"], unit) if "rate_per_min" in stage else None
        pace = (
            ("by itself" if falls else "as fast as the blanket can")
            if rate_k is None
            else f"by {units.in_unit_difference(rate_k, shown):.0f} degrees {shown} a minute"
        )
        longest = stage.get("longest_min", core_profile.RAMP_LONGEST_MIN)
        verb = "cool" if falls else "warm"
        late = f"a shutdown if it is not there after {longest:g} minutes"
        return f"{title}{verb} {zones} to {target} {pace}; {late}."
    verb = "hold" if stage["kind"] == "hold" else "keep"
    cues = f" Cues: {', '.join(stage['cues'])}." if stage.get("cues") else ""
    if "until" in stage:
        end = "until you press next"
        if stage["until"] == "wood":
            mid = temperature_text(stage["mid_wood"], unit, shown)
            end = f"until the middle of the wood is estimated above {mid} for {stage['mid_wood_s']:g} s"
        return f"{title}{verb} {zones} at {target} {end}, {stage['longest_min']:g} minutes at most.{cues}"
    return f"{title}{verb} {zones} at {target} for {stage['minutes']:g} minutes within the band.{cues}"
