"""The steps of the thermocouples: the room, a warm hand, boiling water. Nothing heats in any of them.

work: what every step works with. Each raises StepFailedError when it is not passed, and what asking the
person or the board raises.
"""

from statistics import fmean

from ribwright_board.core.units import c_from, in_unit, in_unit_difference

from . import boiling, judge
from .judge import Row
from .step import StepFailedError, Work

OUR_CHOICE = "our choice"
# What the board makes of a junction that warms while nothing heats: it shuts down, as it should.
WARMED = ("heat_while_off", "leap", "fast_rise", "too_hot")
BACK_S = 40.0
BACK_K = 2.0


def _now_c(rows: list[Row], zone: int, name: str) -> float:
    """Mean of a zone's readings. Raises StepFailedError where a second has none."""
    found = judge.readings_c(rows, zone)
    if len(found) < len(rows) or not found:
        seen = f"zone {name} gave no reading in {len(rows) - len(found)} of {len(rows)} seconds"
        raise StepFailedError("no_reading", seen)
    return fmean(found)


def _quiet(work: Work) -> None:
    """Raise StepFailedError with the board's own word when it has shut down."""
    trip = work.trial.status().get("trip")
    if trip:
        raise StepFailedError(
            str(trip["code"]), f"the board shut down: {work.trial.link.ask('trip')['text']}"
        )


def sensors(work: Work) -> None:
    """Every zone reads the room: they agree, they are quiet, and a thermometer says the same."""
    work.at_rest()
    unit = str(work.rig.mapping["unit"])
    work.show(f"Reading for {judge.ROOM_S} s.")
    rows = list(work.trial.rows(judge.ROOM_S))
    _quiet(work)
    means_c = [_now_c(rows, zone, name) for zone, name in enumerate(work.zones)]
    noise_k = [judge.noise_k(judge.readings_c(rows, zone)) for zone in range(len(means_c))]
    for name, mean_c, each_k in zip(work.zones, means_c, noise_k, strict=True):
        work.note(f"zone {name} reads", f"{in_unit(mean_c, unit):.1f}", unit)
        work.note(f"its noise, standard deviation over {judge.ROOM_S} s", f"{each_k:.2f}", "K", "1 K or less")
    spread_k = max(means_c) - min(means_c)
    work.note("zones apart", f"{spread_k:.1f}", "K", f"{judge.ROOM_SPREAD_K:g} K or less", OUR_CHOICE)
    if max(noise_k) > judge.NOISE_K:
        name = work.zones[noise_k.index(max(noise_k))]
        seen = f"zone {name} scatters by {max(noise_k):.1f} K, the limit is {judge.NOISE_K:g} K"
        raise StepFailedError("noisy", seen)
    if spread_k > judge.ROOM_SPREAD_K:
        seen = f"the zones lie {spread_k:.1f} K apart, the limit is {judge.ROOM_SPREAD_K:g} K"
        raise StepFailedError("apart", seen)
    room = work.person.number(("sensors", "room"), "a thermometer beside the junctions says", unit)
    work.note("thermometer beside the junctions", f"{room:g}", unit)
    room_c = c_from(room, unit)
    for name, mean_c in zip(work.zones, means_c, strict=True):
        if abs(mean_c - room_c) > judge.ROOM_SPREAD_K:
            off = in_unit_difference(mean_c - room_c, unit)
            limit = in_unit_difference(judge.ROOM_SPREAD_K, unit)
            seen = f"zone {name} is {off:+.1f} {unit} off the thermometer, the limit is {limit:g} {unit}"
            raise StepFailedError("off_room", seen)


def _put_back(work: Work, zone: int, base_c: float) -> None:
    """Have a junction put back, wait until it reads as before, acknowledge what the board made of it."""
    work.person.done(f"Put the junction of zone {work.zones[zone]} back.")
    work.hands.back(zone)
    for row in work.trial.rows(BACK_S * 6):
        reading_c = row.temps_c[zone]
        if reading_c is not None and abs(reading_c - base_c) < BACK_K:
            break
    trip = work.trial.status().get("trip")
    if trip:
        name = work.zones[trip["zone"]] if 0 <= trip["zone"] < len(work.zones) else "the rig"
        if trip["code"] not in WARMED or trip["zone"] != zone:
            raise StepFailedError(str(trip["code"]), f"the board shut down over {name}: {trip['code']}")
        work.note(f"board's own word as {name} warmed unasked", trip["code"])
    work.at_rest()


def hands(work: Work) -> None:
    """Each junction in a warm hand: its own zone rises and no other."""
    for zone, name in enumerate(work.zones):
        work.at_rest()
        base = list(work.trial.rows(judge.HAND_BASE_S))
        base_c = [_now_c(base, each, other) for each, other in enumerate(work.zones)]
        work.person.done(f"Take the junction of zone {name} between your fingers, and keep it there.")
        work.hands.warm(zone)
        rows: list[Row] = []
        risen_k = [0.0] * len(base_c)
        for row in work.trial.rows(judge.HAND_S):
            rows.append(row)
            risen_k = judge.rises_k(base_c, rows)
            if risen_k[zone] >= judge.HAND_RISE_K:
                break
        work.note(f"zone {name} in the hand rose by", f"{risen_k[zone]:.1f}", "K", "3 K or more within 30 s")
        others = [each for each in range(len(risen_k)) if each != zone]
        most = max(others, key=lambda each: risen_k[each], default=zone)
        if most != zone:
            work.note(f"most of any other, {work.zones[most]}", f"{risen_k[most]:.1f}", "K", "1 K or less")
            if risen_k[most] > judge.OTHER_RISE_K:
                seen = f"with the junction of {name} in the hand, zone {work.zones[most]} rose by"
                raise StepFailedError("swapped", f"{seen} {risen_k[most]:.1f} K, the limit is 1 K")
        if risen_k[zone] < judge.HAND_RISE_K:
            seen = f"zone {name} rose by {risen_k[zone]:.1f} K within {judge.HAND_S} s, 3 K are needed"
            raise StepFailedError("no_rise", seen)
        _put_back(work, zone, base_c[zone])


def _water_c(work: Work) -> float:
    """Boiling point from what the person knows: pressure or altitude, C."""
    how = work.person.choice(
        ("boiling", "known"),
        "air pressure at your place, or altitude above the sea",
        ("pressure", "altitude"),
    )
    if how == "pressure":
        limits, source = boiling.PRESSURE_HPA, "not reduced to sea level"
        hpa = work.measure(("boiling", "pressure_hpa"), "air pressure", "hPa", limits, source, "pressure")
    else:
        limits, source = boiling.ALTITUDE_M, "ISO 2533; weather +-0.6 K"
        high_m = work.measure(("boiling", "altitude_m"), "altitude", "m", limits, source, "altitude")
        hpa = boiling.standard_pressure_hpa(high_m)
    water_c = boiling.boiling_c(hpa)
    work.note(f"water boils, at {hpa:.1f} hPa, at", f"{water_c:.2f}", "C", "", boiling.SOURCE)
    work.fixed_point = f"water boiling at {hpa:.1f} hPa, {water_c:.2f} C"
    return water_c


def boil(work: Work) -> None:
    """Each junction in boiling water: how far off it is, and of which type its wire is."""
    water_c = _water_c(work)
    # A board of before offsets were known takes nothing off.
    taken_off_k = work.trial.link.ask("counters").get("offsets_k") or [0.0] * len(work.zones)
    for zone, name in enumerate(work.zones):
        values = work.rig.mapping["zones"][zone]
        limit_k, stated = boiling.limit_k(values["chip"]), str(values["thermocouple"])
        work.at_rest()
        base_c = _now_c(list(work.trial.rows(judge.HAND_BASE_S)), zone, name)
        work.person.done(
            f"Hold the junction of zone {name} in the middle of water at a rolling boil, off the bottom; "
            "converter and board stay dry."
        )
        work.hands.boil(zone)
        rows: list[Row] = []
        for row in work.trial.rows(judge.BOIL_S):
            rows.append(row)
            if judge.steady_c(rows, zone, base_c) is not None:
                break
        else:
            seen = f"zone {name} did not come to rest in boiling water within {judge.BOIL_S} s"
            raise StepFailedError("unsteady", seen)
        here_c = _now_c(list(work.trial.rows(judge.STEADIED_S)), zone, name)
        taken_k = float(taken_off_k[zone])
        offset_k = here_c + taken_k - water_c
        if taken_k:
            work.note(f"already taken off by the board, zone {name}", f"{taken_k:+.2f}", "K")
        limit = f"-{limit_k:g} to +{limit_k:g} K"
        work.note(f"zone {name} less the boiling point", f"{offset_k:+.2f}", "K", limit, boiling.LIMIT_SOURCE)
        if abs(offset_k) > limit_k:
            kind = boiling.likely_type(offset_k, stated)
            why = f"; wire of type {kind} would show about so" if kind != stated else ""
            seen = f"zone {name} reads {here_c:.1f} C where water boils at {water_c:.1f} C"
            raise StepFailedError("wrong_type", f"{seen}, {offset_k:+.1f} K, the limit is {limit_k:g} K{why}")
        work.offsets_k.append(round(offset_k, 2))
        _put_back(work, zone, base_c)
