"""The calibration run: what to prepare, step by step, and the profile that heats it."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

from ribwright_board.core import profile as core_profile
from ribwright_board.core.rig import highest_target
from ribwright_board.core.units import in_unit

from .profiles import problem_errors, raise_first
from .rigs import RigFile
from .toml_lines import find_lines, read_text
from .writing import unwritable

PROFILE_NAME = "calibration.toml"
# Below the first darkening, above boiling; short blankets first and less, they lie over the long one.
SHORT_TARGET_C, LONG_TARGET_C, COLD_C = 110.0, 135.0, 70.0
SHORT_MIN, LONG_MIN = 1, 5


def order(rig: RigFile) -> list[int]:
    """Positions of the zones as the calibration heats them: the longest blanket last.

    rig: the rig.
    """
    zones = rig.rig.zones
    return sorted(range(len(zones)), key=lambda zone: zones[zone].length_mm)


def steps(rig: RigFile | None, profile: Path | None) -> list[str]:
    """The guide, line by line.

    rig: whose zones to name, or None. profile: the calibration's file, or None when there is no rig.
    """
    zone = "the longest blanket" if rig is None else f'"{rig.zone_names[order(rig)[-1]]}"'
    name = profile or Path(PROFILE_NAME)
    writes = "" if profile else " (ribwright fit --guide --rig rig.toml writes it)"
    return [
        "A calibration run: one warm-up of a scrap of wood with a second thermocouple in it.",
        "",
        "Before any heat",
        "  - Stay with the rig, extinguisher at hand, air moving. Slats burn at a touch long after the run.",
        "  - Unplug the rig while you lay the second thermocouple. Its tip and bare leads touch neither",
        "    blanket nor slat. Use a battery-powered meter: it must not connect the stack to anything.",
        "  - The meter is for you and the fit; no guard reads it. The rig's own thermocouples stay in place.",
        "",
        "Prepare",
        "  1. Two pieces of scrap of the species you bend, as long as the blankets, two weeks or more in",
        "     the shop. Plane each to HALF the thickness of your side: together they are as thick, and the",
        "     tip lies in the middle without a hole. Wet them as you wet your sides, last of all.",
        f"  2. Edit [piece] in {name}{writes}: species, thickness of ONE ply,",
        "     plies = 2, wetted as you did, and moisture_percent when you have measured it.",
        "  3. Lay the tip of a thin bare type K pair between the plies, under the thermocouple of",
        f"     {zone}; lead it out along the grain, 50 mm inside the stack, or it reads the room.",
        "  4. Close the stack as for a bend, foil and slats as always, flat and OFF the form, which",
        "     cools it in a way no log shows. Everything at room temperature.",
        "",
        "Run",
        f"  5. ribwright upload {name}, then ribwright start {name}; press start at the rig.",
        "  6. Start a stopwatch when the first stage begins (the start checks come before it). Write down",
        "     the meter every 10 s up to the hold, every 30 s after that: a CSV, first line time_s,wood_c",
        "     (or wood_f), then lines such as 10,23.5.",
        "  7. Let it cool by itself. Do not open the pack hot: steam.",
        "",
        "Fit",
        "  8. ribwright fetch NUMBER -o calibration.csv",
        "  9. ribwright fit calibration.csv --rig rig.toml --wood wood.csv; look at the picture, then again",
        "     with --write.",
        "",
        "What it is good for",
        "  - The simulator learns this rig and its wood: [fit], for rehearse, tune and the virtual rig.",
        "  - The board's own estimate of the middle of the wood gets figures for the zone over the tip:",
        "    [zones.wood]. They hold for wood as thick and as wet as the scrap; found in thicker or drier",
        "    wood they would make the estimate worse, so the board uses them for like wood only.",
    ]


def write_profile(rig: RigFile, folder: Path) -> tuple[Path, bool]:
    """Write the calibration's profile; its path, and whether it is new: one that exists is left alone.

    rig: whose zones it heats. folder: where to. Raises FileError when it cannot be written, or when the rig
    does not allow its temperatures.
    """
    path = folder / PROFILE_NAME
    if path.exists():
        read_text(path)
        return path, False
    text = profile_text(rig)
    values, lines = tomllib.loads(text), find_lines(text)
    raise_first(path, problem_errors(path, lines, core_profile.check(values, rig.rig)))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise unwritable(path, error, "name another folder with --out") from error
    return path, True


def profile_text(rig: RigFile) -> str:
    """The calibration's profile for a rig, as TOML.

    rig: whose zones it heats.
    """
    unit = rig.mapping["unit"]

    def degrees(value_c: float, zone: int) -> float:
        return float(round(min(in_unit(value_c, unit), highest_target(rig.rig, zone, unit))))

    lines = [
        "# A calibration run: two plies of scrap, a second thermocouple between them, off the form.",
        "# `ribwright fit --guide` says what to do; correct [piece] to what lies in the stack.",
        "",
        "schema = 1",
        'name = "calibration"',
        f'unit = "{unit}"',
        "",
        "[piece]",
        'kind = "trial"',
        'species = "sapele"      # yours',
        "thickness_mm = 0.85     # of one ply: half your side",
        "plies = 2",
        "width_mm = 80",
        "length_mm = 560",
        'wetted = "misted"       # as you wet your sides',
        "# moisture_percent = 8  # measured, if you can",
    ]
    in_order = order(rig)
    for zone in in_order:
        name = json.dumps(rig.zone_names[zone])
        last = zone == in_order[-1]
        target = degrees(LONG_TARGET_C if last else SHORT_TARGET_C, zone)
        minutes = LONG_MIN if last else SHORT_MIN
        lines += [
            *("", "[[stages]]", 'kind = "ramp"', f"zones = [{name}]", f"target = {target:g}"),
            "longest_min = 20",
            *("", "[[stages]]", 'kind = "hold"', f"zones = [{name}]", f"target = {target:g}"),
            *(f"minutes = {minutes}", "longest_min = 20"),
        ]
    lines += ["", "[[stages]]", 'kind = "cool"', f"below = {round(in_unit(COLD_C, unit))}"]
    return "\n".join(lines) + "\n"


def run(rig: RigFile | None, out: Path | None) -> list[str]:
    """The command's guide: the lines, after writing the profile when there is a rig.

    rig: the rig or None. out: folder for the profile, or None for the rig's own.
    """
    if rig is None:
        return steps(None, None)
    path, new = write_profile(rig, out or rig.path.parent)
    state = f"wrote {path}" if new else f"{path} exists and was left alone"
    return [*steps(rig, path), "", state]
