"""A first rig and a first profile, by asking in the words of the trade; each question has a suggestion.

The files start from the examples in `library`, so they keep the comments that explain every line.
"""

import re
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar, cast

import click
import tomlkit
from tomlkit.items import AoT

from ribwright_board.core import profile as core_profile
from ribwright_board.core import rig as core_rig
from ribwright_board.core import units
from ribwright_board.core.rig_values import Rig

from .cli_common import prompted
from .errors import FileError
from .new_panel import ask_panel, with_panel
from .profiles import problem_errors, raise_first
from .rigs import display_fits, problems_of
from .side.asking import with_side
from .toml_lines import find_lines
from .writing import unwritable

# What stands in a TOML document, or an answer for it: tomlkit's own types cannot be told apart by a checker.
Toml = Any
_T = TypeVar("_T")

RIG_EXAMPLE = "rig_two_zone_120v.toml"
SPECIES = "sapele"
PROFILE_EXAMPLE = "sapele_baritone_side.toml"
MM_PER_INCH = 25.4
MOST_ZONES = core_rig.MAX_ZONES
# Relay and select of every zone, and the pins that differ from the example's: an ESP32 keeps some of those
# for its flash and reads others while it starts.
ZONE_PINS = {
    "pico": ((10, 17), (11, 20), (8, 21), (9, 22)),
    "esp32": ((25, 16), (26, 17), (27, 21), (22, 5)),
}
OWN_PINS = {"esp32": {"sck": 18, "mosi": 23, "miso": 19, "alive": 4, "start": 32, "next": 33, "stop": 13}}
# Common practice, no source: how tight the bend and how hot the zone; the first blanket takes the tightest.
ZONE_NAMES = ("waist", "full", "upper bout", "lower bout")


class Length(click.ParamType[float]):
    """A length in millimetres, or in inches when it says so: 1.7, 1.7 mm, 0.067 in."""

    name = "length"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Millimetres from value, typed or a number. param, ctx: click's own. Raises click.BadParameter."""
        if isinstance(value, int | float):
            return float(value)
        found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(mm|in|inch|inches|\")?\s*", str(value))
        if found is None:
            self.fail(f"{value!r} is not a length; write 1.7 mm or 0.067 in", param, ctx)
        number = float(found.group(1).replace(",", "."))
        return number if found.group(2) in (None, "mm") else round(number * MM_PER_INCH, 2)


class Asker:
    """Puts questions, or takes every suggestion.

    take_defaults: whether to ask nobody.
    """

    def __init__(self, *, take_defaults: bool) -> None:
        self.take_defaults = take_defaults

    def ask(self, question: str, suggestion: _T, kind: click.ParamType[Any] | type | None = None) -> _T:
        """The answer to one question.

        question: in the maker's words. suggestion: what is taken without an answer. kind: click type of
        the answer.
        """
        shown = _short(suggestion)
        if self.take_defaults:
            return shown
        answer: _T = prompted(question, shown, kind or type(suggestion))
        return _short(answer)


def ask_and_write(folder: Path, *, take_defaults: bool) -> list[Path]:
    """Ask, then write rig.toml and profile.toml; the files.

    folder: made when absent. take_defaults: ask nothing. Raises FileError when a file exists, cannot be
    written, or the answers do not fit together.
    """
    rig_path, profile_path = folder / "rig.toml", folder / "profile.toml"
    for path in (rig_path, profile_path):
        if path.exists():
            raise FileError(
                f"{path} exists and is left alone",
                "name another folder: ribwright new FOLDER",
                code="exists",
                where={"file": str(path)},
            )
    asker = Asker(take_defaults=take_defaults)
    unit = asker.ask(
        "Your thermometers show C or F", "C", click.Choice(["C", "F"], case_sensitive=False)
    ).upper()
    rig = ask_rig(asker, unit)
    # Answers that do not fit together are told before anything is written.
    rig_text = tomlkit.dumps(rig)
    raise_first(rig_path, problem_errors(rig_path, find_lines(rig_text), problems_of(rig.unwrap())))
    checked = core_rig.parse(rig.unwrap())
    profile = ask_profile(asker, unit, checked)
    problems = core_profile.check(profile.unwrap(), checked)
    raise_first(profile_path, problem_errors(profile_path, find_lines(tomlkit.dumps(profile)), problems))
    profile_text = with_side(asker, profile, profile_path, checked, Length())
    texts = {rig_path: rig_text, profile_path: profile_text}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, text in texts.items():
            with path.open("x", encoding="utf-8", newline="\n") as handle:
                handle.write(text)
    except OSError as error:
        raise unwritable(folder, error, "choose another folder") from None
    return list(texts)


def example(name: str) -> tomlkit.TOMLDocument:
    """One of the shipped examples, with its comments.

    name: file in the library folder.
    """
    return tomlkit.parse((files("ribwright_host") / "library" / name).read_text(encoding="utf-8"))


def _set_temperature(table: Toml, key: str, unit: str, *, step: int = 5) -> None:
    """Turn a Celsius number of an example, and those of its comment, into the chosen unit."""
    if unit != "F" or key not in table:
        return
    comment, indent = table[key].trivia.comment, table[key].trivia.comment_ws
    table[key] = int(step * round(units.f_from_c(float(table[key])) / step))
    in_f = re.sub(r"\b\d{2,3}\b", lambda found: f"{units.f_from_c(float(found.group())):.0f}", comment)
    words = re.sub(r"\bC\b", "F", in_f).lstrip("# ")
    if words:
        table[key].comment(words)
        table[key].trivia.comment_ws = indent


def _short(value: _T) -> _T:
    """A number without a useless decimal point; anything else as it is."""
    return cast("_T", int(value)) if isinstance(value, float) and value == int(value) else value


def ask_rig(asker: Asker, unit: str) -> tomlkit.TOMLDocument:
    """The rig file by asking.

    asker: who is asked. unit: "C" or "F".
    """
    rig = example(RIG_EXAMPLE)
    rig["name"] = asker.ask("What do you call this rig", str(rig["name"]))
    rig["unit"] = unit
    rig["board"] = asker.ask("Which board runs it", "pico", click.Choice(list(core_rig.BOARDS)))
    mains: Toml = rig["mains"]
    mains["volts"] = asker.ask("Volts at the wall", 120, click.IntRange(100, 250))
    hertz = asker.ask(
        "Mains frequency, Hz", "60" if mains["volts"] < 150 else "50", click.Choice(["50", "60"])
    )
    mains["hertz"] = int(hertz)
    mains["branch_limit_a"] = asker.ask(
        "Amperes all blankets together may draw from their branch",
        12.0 if mains["volts"] < 150 else 8.0,
        float,
    )
    relay = asker.ask(
        "Relays: solid-state, mechanical, or none for a rig that only watches",
        "solid-state",
        click.Choice(["solid-state", "mechanical", core_rig.NO_RELAY]),
    )
    if relay == "mechanical":
        # The board chooses the window by the relays' life.
        rig.pop("control", None)
    life = _ask_life(asker) if relay == "mechanical" else {}
    converters = _ask_converters(asker)
    count = asker.ask("How many blankets (zones)", 2, click.IntRange(1, MOST_ZONES))
    rig["zones"] = _ask_zones(asker, count, relay, unit)
    pins: Toml = rig["pins"]
    for key, gpio in OWN_PINS.get(rig["board"], {}).items():
        pins[key] = gpio
    places = ZONE_PINS.get(rig["board"], ZONE_PINS["pico"])
    for zone, (relay_pin, select_pin) in zip(rig["zones"], places, strict=False):
        zone["relay_pin"], zone["select_pin"] = relay_pin, select_pin
        if relay == core_rig.NO_RELAY:
            del zone["relay_pin"]
        zone.update(life | converters)
    stack: Toml = rig["stack"]
    _set_temperature(stack, "ambient", unit, step=1)
    return with_panel(rig, ask_panel(asker, rig.unwrap(), display=display_fits(rig["board"], count)))


def _ask_life(asker: Asker) -> dict[str, int]:
    """What a mechanical relay is rated for and how long it shall last; nothing where that is not known."""
    operations = asker.ask(
        "Relays: rated operations at this load (0 if not known)", 0, click.IntRange(0, 100_000_000)
    )
    if not operations:
        return {}
    hours = asker.ask("Relays: hours of heating they shall last", 100, click.IntRange(1, 100_000))
    return {"relay_operations": operations, "relay_hours": hours}


def _ask_converters(asker: Asker) -> dict[str, str]:
    """Converter and thermocouple, the same for every zone; the file may say otherwise."""
    chip = asker.ask(
        "Which converter is on the thermocouple cards", core_rig.CHIPS[0], click.Choice(core_rig.CHIPS)
    )
    if chip == "MAX6675":
        # It is made for type K alone.
        return {"chip": chip, "thermocouple": "K"}
    kind = asker.ask(
        "Type of the thermocouples (letter on wire or plug)",
        core_rig.THERMOCOUPLES[0],
        click.Choice(core_rig.THERMOCOUPLES, case_sensitive=False),
    )
    return {"chip": chip, "thermocouple": kind.upper()}


def _ask_zones(asker: Asker, count: int, relay: str, unit: str) -> AoT:
    """The zones' tables, the first two from the example, any more after its second."""
    zones = tomlkit.aot()
    for number in range(count):
        # Always from a fresh example: one that went through the questions is in the chosen unit already.
        zone: Toml = example(RIG_EXAMPLE)["zones"][min(number, 1)]
        word = "The blanket" if count == 1 else f"Blanket {number + 1}"
        zone["name"] = asker.ask(
            f"{word}: which part of the strip lies on it", ZONE_NAMES[1 if count == 1 else number]
        )
        zone["power_w"] = asker.ask(
            f"{word}: watts on its label", int(zone["power_w"]), click.IntRange(5, 2000)
        )
        zone["length_mm"] = asker.ask(
            f"{word}: length along the strip (mm, or say in)", float(zone["length_mm"]), Length()
        )
        zone["width_mm"] = asker.ask(
            f"{word}: width across the strip (mm, or say in)", float(zone["width_mm"]), Length()
        )
        zone["relay"] = relay
        _set_temperature(zone, "ceiling", unit)
        zones.append(zone)
    return zones


def ask_profile(asker: Asker, unit: str, rig: Rig) -> tomlkit.TOMLDocument:
    """The profile file by asking.

    asker: who is asked. unit: "C" or "F". rig: what it is for; its first zone is bent first.
    """
    zone_names = rig.zone_names()
    profile = example(PROFILE_EXAMPLE)
    piece: Toml = profile["piece"]
    piece["species"] = asker.ask("Which wood", str(piece["species"]))
    if piece["species"] != SPECIES:
        # How the example's wood was sawn says nothing of another.
        for key in ("cut", "figure"):
            piece.pop(key, None)
    example_length_mm = float(piece["length_mm"])
    for key, question in (
        ("thickness_mm", "How thick are the sides (mm, or say in)"),
        ("width_mm", "How wide at the widest (mm, or say in)"),
        ("length_mm", "How long (mm, or say in)"),
    ):
        piece[key] = asker.ask(question, float(piece[key]), Length())
    if float(piece["length_mm"]) != example_length_mm:
        # Another instrument has another waist; a rehearsal says what it lacks.
        piece.pop("tightest_radius_mm", None)
    piece["wetted"] = asker.ask("How do you wet them", "misted", click.Choice(list(core_profile.WETTED)))
    profile["name"] = asker.ask("What do you call this bend", f"{piece['species']} side"[:40])
    profile["unit"] = unit
    first, others = zone_names[0], zone_names[1:] or zone_names
    stages: Toml = profile["stages"]
    if len(zone_names) == 1:
        _drop_waist(stages)
    for stage in stages:
        if "zones" in stage:
            stage["zones"] = [first] if list(stage["zones"]) == ["waist"] else others
        _set_temperature(stage, "target", unit)
        _set_temperature(stage, "below", unit)
        for key in ("rate_per_min", "band"):
            if unit == "F" and key in stage:
                stage[key] = round(units.in_unit_difference(float(stage[key]), "F"))
    lowest, highest = units.in_unit(units.TARGET_MIN_C, unit), core_rig.highest_target(rig, 0, unit)
    suggested = int(stages[0]["target"])
    hottest = asker.ask("Temperature for the bend", suggested, click.IntRange(int(lowest), int(highest)))
    for stage in stages:
        # Where the waist is bent, not where it rests.
        if list(stage.get("zones", ())) == [first] and stage["target"] == suggested:
            stage["target"] = hottest
    return profile


def _drop_waist(stages: Toml) -> None:
    """A rig with one blanket warms and bends everything at once."""
    del stages[:2]
