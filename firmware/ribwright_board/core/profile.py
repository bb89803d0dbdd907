"""The only parser and checker of profiles, on both sides."""

from .checks import Table, check_head, seen_text
from .ends import MINUTE_MS, read_times
from .errors import CheckError, Problem, RefusedError
from .profile_values import Profile, Stage
from .units import (
    COOL_MAX_C,
    COOL_MIN_C,
    TARGET_MARGIN_K,
    TARGET_MAX_C,
    TARGET_MIN_C,
    c_from,
    in_unit,
    k_from,
    number_text,
)
from .wood import DENSITY_MAX_KG_M3, DENSITY_MIN_KG_M3, piece_density
from .wood_ramp import read_wood_ramp

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .rig_values import Rig

SCHEMA = 1
MAX_STAGES = 24
MAX_CUES = 12
KINDS = ("ramp", "hold", "set", "cool")
PIECE_KINDS = ("side", "trial", "touch-up", "batch")
WETTED = ("dry", "misted", "wiped", "soaked")

RAMP_LONGEST_MIN = 20.0
BAND_K = {"ramp": 2.0, "hold": 3.0, "set": 5.0}


def _read_piece(table: Table) -> None:
    """The declared load; heat expectations come from it, so it must be complete."""
    table.choice("kind", PIECE_KINDS)
    table.text("species", True, 40)
    table.number("thickness_mm", 0.4, 6.0, "mm")
    table.number("width_mm", 2, 200, "mm")
    table.number("length_mm", 50, 1500, "mm")
    table.number("pieces", 1, 60, "", False, True)
    table.number("plies", 1, 6, "", False, True)
    table.text("cut", False)
    table.text("figure", False)
    table.text("oiliness", False)
    table.choice("wetted", WETTED)
    table.number("moisture_percent", 2, 40, "%", False)
    advice = "state kg per cubic metre at 12 % moisture"
    table.number("density_kg_m3", DENSITY_MIN_KG_M3, DENSITY_MAX_KG_M3, "kg/m3", False, False, advice)
    table.number("tightest_radius_mm", 10, 2000, "mm", False)
    table.finish()


def _read_zones(table: Table, names: list[str] | None) -> list[int]:
    """Positions of the zones a stage heats; names is None when no rig is at hand."""
    words = table.words("zones", 4, 16)
    place = table.where + ("zones",)
    if not table.has("zones"):
        table.add("missing", place, 'is not stated; add zones = ["..."] with the zones this stage heats')
    found: list[int] = []
    for i in range(len(words)):
        if words[i] in words[:i]:
            table.add("zone_twice", place + (i,), 'is "%s" again; name each zone once' % words[i])
        elif names is None:
            found.append(i)
        elif words[i] not in names:
            known = ", ".join(names)
            table.add("no_zone", place + (i,), "is %s, this rig has: %s" % (seen_text(words[i]), known))
        else:
            found.append(names.index(words[i]))
    return found


def _read_target(table: Table, stage: Stage, rig: "Rig | None") -> None:
    """A stage's target, under the firmware's limit and the ceiling of every zone it heats."""
    advice = "lower it, the board's limit cannot be lifted from here"
    value = table.temperature("target", TARGET_MIN_C, TARGET_MAX_C, True, advice)
    if value is None:
        return
    stage.target_c = c_from(value, table.unit)
    if rig is None:
        return
    for zone in stage.zones:
        limit_c = rig.zones[zone].ceiling_c - TARGET_MARGIN_K
        # A hair wider, so that a limit stated in Fahrenheit survives its way through Celsius.
        if stage.target_c > limit_c + 0.01:
            table.add(
                "range",
                table.where + ("target",),
                "is %s, zone %s allows up to %s %s (its ceiling less 10 K); lower it"
                % (
                    number_text(value),
                    rig.zones[zone].name,
                    number_text(in_unit(limit_c, table.unit)),
                    table.unit,
                ),
            )


def _highest_c(stage: Stage, rig: "Rig | None") -> float:
    """Highest target that every zone of a stage allows, C."""
    ceilings_c = [] if rig is None else [rig.zones[zone].ceiling_c for zone in stage.zones]
    return min(ceilings_c) - TARGET_MARGIN_K if ceilings_c else TARGET_MAX_C


def _check_wood(piece: Table, stages: "list[Stage | None]") -> None:
    """What ends by the wood needs wood whose density is known."""
    asked = [stage for stage in stages if stage is not None and stage.mid_wood_c is not None]
    # What is wrong with the piece's own values has been said; a guess on top of them helps nobody.
    if not asked or piece.problems or piece_density(piece.values) is not None:
        return
    text = (
        "is not stated, and the species %s is not one the board knows; what ends by the wood needs it, "
        "weigh a strip" % seen_text(piece.values["species"])
    )
    piece.add("missing", piece.where + ("density_kg_m3",), text)


def _read_stage(table: Table, rig: "Rig | None", names: list[str] | None, position: int) -> Stage | None:
    """One stage; None when its kind is unknown."""
    kind = table.choice("kind", KINDS)
    if kind is None:
        return None
    name = table.text("name", False, 40) or "%s %d" % (kind, position + 1)
    stage = Stage(kind, name)
    if kind == "cool":
        advice = "a shop may be warmer, the stage could never end; raise it"
        below = table.temperature("below", COOL_MIN_C, COOL_MAX_C, True, advice)
        stage.below_c = None if below is None else c_from(below, table.unit)
        table.finish()
        return stage
    stage.zones = _read_zones(table, names)
    _read_target(table, stage, rig)
    band = table.difference("band", 0.5, 20.0)
    stage.band_k = BAND_K[kind] if band is None else k_from(band, table.unit)
    if kind == "ramp":
        rate = table.difference("rate_per_min", 0.5, 120.0, "per min")
        stage.rate_k_per_min = None if rate is None else k_from(rate, table.unit)
        longest = table.number("longest_min", 0.5, 240, "min", False)
        stage.longest_ms = int((longest or RAMP_LONGEST_MIN) * MINUTE_MS)
        read_wood_ramp(table, stage, _highest_c(stage, rig))
    else:
        read_times(table, stage)
        if kind == "hold":
            stage.cues = table.words("cues", MAX_CUES)
    table.finish()
    return stage


def _check_order(stages: list[Stage | None], problems: list[Problem]) -> None:
    """What must hold between stages: a run ends in a cool stage, and that is its only one."""
    last = stages[-1]
    if last is not None and last.kind != "cool":
        top = Table({}, ("stages", len(stages) - 1), problems, "C")
        top.add(
            "no_cool",
            ("stages", len(stages) - 1, "kind"),
            'is "%s", the last stage must be "cool"; add one' % last.kind,
        )
    for i in range(len(stages) - 1):
        stage = stages[i]
        if stage is not None and stage.kind == "cool":
            top = Table({}, ("stages", i), problems, "C")
            text = "is followed by heat; reheating is a run of its own, end the profile here"
            top.add("reheat", ("stages", i, "kind"), text)


def _read(values: object, rig: "Rig | None", problems: list[Problem]) -> Profile | None:
    unit = check_head(values, SCHEMA, problems)
    if not unit:
        return None
    top = Table(values, (), problems, unit)
    top.take("schema")
    top.take("unit")
    name = top.text("name", True, 40)
    piece = top.take("piece")
    load = Table({} if piece is None else piece, ("piece",), problems, unit)
    if piece is None:
        top.add("missing", ("piece",), "is not stated; add a [piece] table that says what is heated")
    else:
        _read_piece(load)
    names = None if rig is None else rig.zone_names()
    listed = top.take("stages")
    stages: list[Stage | None] = []
    if not isinstance(listed, (list, tuple)) or not 1 <= len(listed) <= MAX_STAGES:
        top.add("stages", ("stages",), "needs 1 to %d [[stages]] tables" % MAX_STAGES)
    else:
        stages = [
            _read_stage(Table(listed[i], ("stages", i), problems, unit), rig, names, i)
            for i in range(len(listed))
        ]
        _check_order(stages, problems)
        _check_wood(load, stages)
    top.finish()
    if problems or name is None or not isinstance(piece, dict):
        return None
    read = [stage for stage in stages if stage is not None]
    return Profile(name, unit, piece, read, names or [])


def check(values: object, rig: "Rig | None" = None) -> list[Problem]:
    """Everything wrong with a profile, in the order of the file; empty when it may be used.

    values: the mapping of the profile. rig: a checked core.rig.Rig, or None to check without one.
    """
    problems: list[Problem] = []
    _read(values, rig, problems)
    return problems


def parse(values: object, rig: "Rig | None" = None) -> Profile:
    """The checked profile.

    values: the mapping of the profile. rig: a checked core.rig.Rig, or None.
    Raises CheckError with every problem found.
    """
    problems: list[Problem] = []
    profile = _read(values, rig, problems)
    if profile is None:
        raise CheckError(problems)
    return profile


def first_index(profile: "Profile", wanted: int | None) -> int:
    """Position of the stage a run begins with.

    profile: checked. wanted: counted from 1, None for the first.
    Raises RefusedError with code stage where there is none such, or nothing to heat.
    """
    if wanted is None:
        return 0
    stages = profile.stages
    if not 1 <= wanted <= len(stages):
        text = "the profile has %d stages, none is stage %d; begin with one of them"
        raise RefusedError("stage", text % (len(stages), wanted))
    if stages[wanted - 1].kind == "cool":
        text = "stage %d only cools, there is nothing to heat; begin with an earlier one"
        raise RefusedError("stage", text % wanted)
    return wanted - 1
