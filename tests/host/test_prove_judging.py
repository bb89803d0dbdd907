"""What a computer judges of a rig: boiling water, elements, rows; checked against published tables."""

import math
from types import SimpleNamespace

import pytest

from ribwright_host.prove import boiling, judge, steps_cold, steps_sensors
from ribwright_host.prove.judge import Row
from ribwright_host.prove.step import StepFailedError, Work

# IAPWS-IF97, table 36: saturation temperature at three pressures (from memory of the release).
IF97_TABLE_36 = [(1000.0, 372.755919), (10000.0, 453.035632), (100000.0, 584.149488)]
# Saturated water, steam tables as in handbooks of physics: 100.0 C at 1.014 bar, 95 C at 0.8461 bar, 90 C at
# 0.7018 bar, 85 C at 0.5787 bar (from memory, NIST/IAPWS).
STEAM_TABLE = [(1014.2, 100.0), (846.1, 95.0), (701.8, 90.0), (578.7, 85.0)]
# ISO 2533 (ICAO standard atmosphere), pressure by altitude, hPa (from memory).
ATMOSPHERE = [(0.0, 1013.25), (500.0, 954.61), (1000.0, 898.76), (2000.0, 795.01), (3000.0, 701.21)]


@pytest.mark.parametrize(("hpa", "kelvin"), IF97_TABLE_36)
def test_boiling_point_gives_the_check_values_of_its_release(hpa, kelvin):
    assert boiling.boiling_c(hpa) + 273.15 == pytest.approx(kelvin, abs=1e-6)


@pytest.mark.parametrize(("hpa", "celsius"), STEAM_TABLE)
def test_boiling_point_gives_the_steam_table(hpa, celsius):
    assert boiling.boiling_c(hpa) == pytest.approx(celsius, abs=0.02)


def test_boiling_point_agrees_with_coolprop():
    steam = pytest.importorskip("CoolProp.CoolProp")
    for hpa in (500, 620, 750, 900, 1013.25, 1100):
        theirs_c = steam.PropsSI("T", "P", hpa * 100.0, "Q", 0, "Water") - 273.15
        assert boiling.boiling_c(hpa) == pytest.approx(theirs_c, abs=0.02)


@pytest.mark.parametrize(("metres", "hpa"), ATMOSPHERE)
def test_pressure_of_the_standard_atmosphere(metres, hpa):
    # The table counts metres above the sea, the formula geopotential ones: 0.13 hPa apart at 3 km.
    assert boiling.standard_pressure_hpa(metres) == pytest.approx(hpa, abs=0.15)


def test_limit_is_the_errors_of_wire_and_converter():
    # IEC 60584-1 class 2: 2.5 K; MAX31855 data sheet: 2 K of gain and offset, 2 K of its cold junction.
    assert boiling.limit_k("MAX31855") == pytest.approx(math.sqrt(2.5**2 + 2.0**2 + 2.0**2), abs=0.05)
    # MAX6675: 3 K of its cold junction. MAX31856: 0.15 % of 78.125 mV are 117 uV, 2.9 K at 41 uV/K; 0.7 K.
    assert boiling.limit_k("MAX6675") == pytest.approx(math.sqrt(2.5**2 + 2.0**2 + 3.0**2), abs=0.06)
    assert boiling.limit_k("MAX31856") == pytest.approx(math.sqrt(2.5**2 + 2.86**2 + 0.7**2), abs=0.06)


@pytest.mark.parametrize(("stated", "chips"), [("K", 3), ("J", 2), ("T", 2), ("N", 2)])
def test_other_types_show_what_a_reference_library_says(stated, chips):
    # In water at 100 C, box at 20 C, a converter that takes all wire for the stated type.
    its90 = pytest.importorskip("thermocouple_its90")
    taken_for = its90.get(stated)
    for name, offset_k in boiling.type_offsets_k(stated).items():
        wire = its90.get(name)
        shown_mv = wire.emf(100.0) - wire.emf(20.0) + taken_for.emf(20.0)
        # A straight line at 100 C, up to 55 C away from it.
        right_k = taken_for.temperature(shown_mv) - 100.0
        assert offset_k == pytest.approx(right_k, abs=1.5, rel=0.08), name
        # Every other wire is found, with every converter that takes the type.
        limits_k = sorted(boiling.limit_k(chip) for chip in boiling.ERRORS_K)[:chips]
        assert name == stated or abs(offset_k) > max(limits_k), name


def test_element_is_judged_by_the_worked_figures():
    # 900 W on 120 V is 16.0 ohm, 1000 W on 230 V 52.9 ohm (U^2/P); 5 % more or 10 % less power.
    least, most = steps_cold.resistance_ohm(120.0, 900.0)
    assert (round(least, 2), round(most, 2)) == (15.24, 17.78)
    least, most = steps_cold.resistance_ohm(230.0, 1000.0)
    assert least < 52.9 < most
    # A blanket for 230 V on a rig for 120 V is far outside.
    assert not least < 14.4 < most


def rows(*readings):
    return [Row(1000 * at, "idle", (each,), (0.0,)) for at, each in enumerate(readings)]


def test_a_reading_stands_only_when_it_has_left_the_room_and_moves_no_more():
    assert judge.steady_c(rows(*[99.0] * 19), 0, 21.0) is None
    assert judge.steady_c(rows(*[99.0] * 20), 0, 21.0) == 99.0
    assert judge.steady_c(rows(*[21.0] * 20), 0, 21.0) is None
    assert judge.steady_c(rows(*[80.0 + n for n in range(20)]), 0, 21.0) is None
    assert judge.steady_c(rows(*[99.0] * 19, None), 0, 21.0) is None


def test_relays_are_told_in_the_order_they_came_on():
    proof = [(0, 0), (1, 1), (1, 1), (0, 0), (0.3, 0), (0.3, 0), (0, 0.3), (0, 0)]
    seen = [Row(1000 * at, "proving", (20.0, 20.0), duties) for at, duties in enumerate(proof)]
    assert judge.switched(seen, ["waist", "full"]) == ["waist+full", "waist", "full"]


def test_answer_is_the_rise_over_what_was_before_the_pulse():
    readings = [20.0] * 5 + [20.5, 21.0, 21.5, 22.0, 22.4, 22.4, 22.2, 22.0]
    duties = [0.0] * 4 + [0.3] * 5 + [0.0] * 4
    seen = [
        Row(1000 * at, "proving", (reading,), (duty,))
        for at, (reading, duty) in enumerate(zip(readings, duties, strict=True))
    ]
    assert judge.answers_k(seen, 1) == [pytest.approx(2.4)]
    assert judge.answers_k(seen[:4], 1) == [None]


@pytest.mark.parametrize(
    ("unit", "room", "said"),
    [
        ("C", 27.0, "-6.0 C off the thermometer, the limit is 5 C"),
        ("F", 80.6, "-10.8 F off the thermometer, the limit is 9 F"),
    ],
)
def test_zone_off_the_thermometer_is_told_with_its_limit_in_the_same_unit(unit, room, said):
    rows = [Row(1000 * second, "idle", (21.0, 21.0), (0.0, 0.0)) for second in range(judge.ROOM_S)]
    trial = SimpleNamespace(status=lambda: {"mode": "idle"}, rows=lambda _: rows)
    rig = SimpleNamespace(mapping={"unit": unit}, zone_names=["waist", "full"])
    person = SimpleNamespace(number=lambda *_: room)
    work = Work(rig, person, lambda _: None, lambda: None, _trial=trial)
    with pytest.raises(StepFailedError) as failed:
        steps_sensors.sensors(work)
    assert failed.value.code == "off_room"
    assert failed.value.seen == f"zone waist is {said}"
