"""Rig files: read, checked by the firmware's own checker, and named by a hash."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribwright_board.core import rig as core_rig
from ribwright_board.core.errors import Problem
from ribwright_board.core.rig_values import Rig
from ribwright_board.core.units import in_unit_difference

from .board_pins import pin_problems
from .errors import FileError
from .profiles import canonical_json, load_checked, raise_first, refuse_other, short_hash, temperature_text
from .toml_lines import read_text

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

# The rig of a folder of profiles or runs, where none is named.
BESIDE = "rig.toml"
# What a rig's own runs and checks find, in its zones.
FOUND_LATER = ("gains", "wood", "offset")
# Of the boards with little memory.
MOST_ZONES_WITH_DISPLAY = 3


@dataclass(frozen=True)
class RigFile:
    """A checked rig file.

    path: where it was read. mapping: its values. hash: of everything but gains, calibration, offsets and fit.
    rig: as the board reads it.
    """

    path: Path
    mapping: dict[str, Any]
    hash: str
    rig: Rig

    @property
    def name(self) -> str:
        """The rig's own name."""
        return str(self.mapping["name"])

    @property
    def zone_names(self) -> list[str]:
        """The zones' names in their order."""
        return [str(zone["name"]) for zone in self.mapping["zones"]]


def rig_hash(mapping: Mapping[str, Any]) -> str:
    """The hash that runs, gains and fit are tied to: everything of the rig but gains and fit themselves.

    mapping: checked values of a rig file. Tuning a rig, calibrating its thermocouples or its estimate of the
    wood or fitting it must not turn it into another rig, so none of them counts. Nor does its panel, which
    heats nothing.
    """
    found = [zone.items() for zone in mapping["zones"]]
    zones = [{key: value for key, value in items if key not in FOUND_LATER} for items in found]
    plain = {key: value for key, value in mapping.items() if key not in ("fit", "panel")}
    return short_hash(canonical_json({**plain, "zones": zones}))


def _check_owner(path: Path, here: str, table: Mapping[str, Any], seen: str, advice: str, code: str) -> None:
    """Refuse what was found for another rig than `here`; seen: what it is, and that it was found."""
    meant_for = table.get("for_rig", here)
    if meant_for != here:
        raise FileError(
            f"{path}: {seen} for rig {meant_for}, this is {here}",
            advice,
            code=code,
            where={"file": str(path)},
        )


def check_gains(path: Path, mapping: Mapping[str, Any]) -> None:
    """Refuse gains that were tuned for another rig.

    path: the file. mapping: its checked values. Raises FileError with code other_rigs_gains.
    """
    here, advice = rig_hash(mapping), f"tune it again: ribwright tune {path}"
    for zone in mapping["zones"]:
        seen = f"the gains of zone {zone['name']} were tuned"
        _check_owner(path, here, zone.get("gains", {}), seen, advice, "other_rigs_gains")


def check_fit(path: Path, mapping: Mapping[str, Any]) -> None:
    """Refuse a [fit] that was found on another rig.

    path: the file. mapping: its checked values. Raises FileError with code other_rigs_fit.
    """
    advice = "remove the table, or fit this rig's own runs: ribwright fit RUN --write"
    fit = mapping.get("fit", {})
    _check_owner(path, rig_hash(mapping), fit, "[fit] was found", advice, "other_rigs_fit")


def check_wood(path: Path, mapping: Mapping[str, Any]) -> None:
    """Refuse a calibration of the estimate that was found on another rig.

    path: the file. mapping: its checked values. Raises FileError with code other_rigs_wood.
    """
    here, advice = rig_hash(mapping), "remove the table, or calibrate this rig: ribwright fit --guide"
    for zone in mapping["zones"]:
        seen = f"[zones.wood] of zone {zone['name']} was found"
        _check_owner(path, here, zone.get("wood", {}), seen, advice, "other_rigs_wood")


def display_fits(board: str, zones: int) -> bool:
    """Whether a board has memory for a display.

    board: pico, pico2 or esp32. zones: how many it heats.
    """
    return board == "pico2" or zones <= MOST_ZONES_WITH_DISPLAY


def _room_problems(values: Mapping[str, Any]) -> list[Problem]:
    """What a board has no memory for; values: of a rig file in which nothing else is wrong.

    Measured on the virtual board: with four zones and a display it ran out of memory in a run, with three it
    had 27 KB left.
    """
    zones = len(values["zones"])
    if "display" not in values.get("panel", {}) or display_fits(values["board"], zones):
        return []
    text = (
        f"needs more memory than a {values['board']} with {zones} zones has left; use a pico2, leave the"
        f" display out, or heat {MOST_ZONES_WITH_DISPLAY} zones"
    )
    return [Problem("memory", ("panel", "display"), text)]


def problems_of(values: Mapping[str, Any]) -> list[Problem]:
    """Everything wrong with a rig: what the board itself would refuse, then pins that its board cannot use,
    then what it has no memory for.

    values: of a rig file.
    """
    return core_rig.check(values) or pin_problems(values) or _room_problems(values)


def check_rig(path: Path) -> list[FileError]:
    """Everything wrong with a rig file that can be read.

    path: the file. Raises FileError as read_toml().
    """
    return load_checked(path, problems_of)[1]


def load_rig(path: Path, *, foreign_gains: bool = False, foreign_fit: bool = False) -> RigFile:
    """A rig file that may be used.

    path: the file. foreign_gains: accept gains of another rig, as tuning must. foreign_fit: accept another
    rig's [fit] and [zones.wood], as fitting must. Raises FileError.
    """
    mapping, errors = load_checked(path, problems_of)
    refuse_other(path, mapping, "rig")
    raise_first(path, errors)
    if not foreign_gains:
        check_gains(path, mapping)
    if not foreign_fit:
        check_fit(path, mapping)
        check_wood(path, mapping)
    return RigFile(path, mapping, rig_hash(mapping), core_rig.parse(mapping))


def _panel_words(panel: Mapping[str, Any]) -> str:
    """What the panel has beside its buttons, and what that means without a computer."""
    there = {"display": "display", "knob_a": "knob", "buzzer": "buzzer"}
    found = " and ".join(word for key, word in there.items() if key in panel)
    pushed = " In a bend a push of the knob opens a list of acts." if "knob_push" in panel else ""
    if "display" in panel:
        return f"Panel with {found}: without a computer any stored profile can be chosen and run.{pushed}"
    if "buzzer" in panel:
        return f"Panel with {found}: without a computer the profile that arrived last can be run."
    return f"Panel with {found}: a run is laid out by a computer."


def get_document(path: Path) -> "TOMLDocument":
    """A rig file with its comments, to be changed and put back; as it was read when it was checked.

    path: of the file, which some editors begin with a byte order mark. Raises FileError as read_text().
    """
    import tomlkit  # noqa: PLC0415 - only what writes rig files needs it

    return tomlkit.parse(read_text(path).replace("\r\n", "\n"))


def put_document(path: Path, document: "TOMLDocument") -> None:
    """Put a changed rig file in the place of the old one, at one stroke. Raises OSError; the old one stands.

    path: of the file. document: all of it, with its comments.
    """
    new = path.with_name(path.name + ".new")
    new.write_text(document.as_string(), encoding="utf-8")
    new.replace(path)


def describe(mapping: Mapping[str, Any], shown: str | None = None) -> list[str]:
    """What a checked rig is, in plain sentences.

    mapping: checked values. shown: unit to show, None for the file's own.
    """
    unit, mains, rig = str(mapping["unit"]), mapping["mains"], core_rig.parse(mapping)
    total_a = sum(zone.current_a for zone in rig.zones)
    sentences = [
        f"{mapping['name']}: {mapping['board']} board on {mains['volts']:g} V, {mains['hertz']:g} Hz."
    ]
    if rig.watches:
        sentences.append("It only watches: no zone has a relay, and heat comes from elsewhere.")
    for zone, values in zip(rig.zones, mapping["zones"], strict=True):
        density = zone.power_w / (values["length_mm"] * values["width_mm"] / 645.16)
        ceiling = temperature_text(zone.ceiling_c, "C", shown or unit)
        tuned = "tuned" if "gains" in values else "starting gains, not tuned"
        kept = f"never above {ceiling}, {tuned}"
        if rig.watches:
            # It cannot hold anything below: it only ends the run, and says so.
            kept = f"a run ends when it reads more than {ceiling}"
        sentences.append(
            f"Zone {zone.name}: {values['length_mm']:g} x {values['width_mm']:g} mm, {zone.power_w:g} W "
            f"({density:.1f} W per square inch), {zone.current_a:.1f} A, {kept}; "
            f"type {values['thermocouple']} through a {values['chip']}."
        )
    for zone, values in zip(rig.zones, mapping["zones"], strict=True):
        if "offset" in values:
            high, found = in_unit_difference(zone.offset_k, shown or unit), values["offset"]
            by = f", {found['found_by']}" if "found_by" in found else ""
            sentences.append(
                f"Zone {zone.name} reads {high:+.1f} degrees high ({found['date']}{by}); "
                "the board takes it off."
            )
    for zone, values in zip(rig.zones, mapping["zones"], strict=True):
        if "wood" in values:
            band = in_unit_difference(zone.wood.band_k, shown or unit)
            like = f", for wood of {zone.wood.thickness_mm:g} mm" if zone.wood.thickness_mm else ""
            like += f", {zone.wood.wetted}" if zone.wood.wetted else ""
            sentences.append(
                f"Estimate of the wood in zone {zone.name}: calibrated, +-{band:g} degrees{like}."
            )
    if "panel" in mapping:
        sentences.append(_panel_words(mapping["panel"]))
    if "fit" in mapping:
        sentences.append(f"Fitted for the simulator: {mapping['fit']['fitted_by']}.")
    limit_a = rig.branch_limit_a
    if rig.watches:
        return sentences
    if total_a <= limit_a:
        sentences.append(f"All zones at once draw {total_a:.1f} A of the {limit_a:g} A the branch may carry.")
    else:
        sentences.append(
            f"All zones at once would draw {total_a:.1f} A; the board keeps them to {limit_a:g} A."
        )
    return sentences
