"""Sizing against worked examples and published tables; every expected value is typed in from its source."""

import pytest

from ribwright_host.wiring import load, protection, switching, tables
from ribwright_host.wiring.facts import STATUSES, Fact

# Worked by hand from V x V / P, P / V and the mains' tolerance of EN 50160 (+-10 %).
CURRENTS = [
    # W, V, ohm, A, A at +10 %, W at +10 %, W at -10 %, A x 1.25
    (900, 120, 16.0, 7.50, 8.25, 1089, 729, 9.38),
    (900, 230, 58.8, 3.91, 4.30, 1089, 729, 4.89),
    (500, 120, 28.8, 4.17, 4.58, 605, 405, 5.21),
    (1000, 120, 14.4, 8.33, 9.17, 1210, 810, 10.4),
    (1000, 230, 52.9, 4.35, 4.78, 1210, 810, 5.43),
    (100, 120, 144, 0.83, 0.92, 121, 81, 1.04),
]


@pytest.mark.parametrize("row", CURRENTS, ids=str)
def test_currents_of_the_worked_examples(row):
    watts, volts, ohm, amperes, high_a, high_w, low_w, sized_a = row
    assert load.resistance(watts, volts).value == pytest.approx(ohm, abs=0.05)
    assert load.current(watts, volts).value == pytest.approx(amperes, abs=0.005)
    # The third digit of a product may be rounded either way.
    assert load.current_high(watts, volts).value == pytest.approx(high_a, abs=0.0051)
    assert load.power_high(watts).value == pytest.approx(high_w, abs=0.5)
    assert load.power_low(watts).value == pytest.approx(low_w, abs=0.5)
    assert load.continuous(watts / volts).value == pytest.approx(sized_a, abs=0.02)


@pytest.mark.parametrize(
    ("volts", "label", "times"),
    [
        (230, 120, 3.67),
        (240, 120, 4.0),
        (120, 230, 0.272),
        (1.05, 1, 1.103),
        (1.06, 1, 1.124),
        (0.94, 1, 0.884),
    ],
)
def test_power_on_the_wrong_mains(volts, label, times):
    assert load.wrong_mains(volts, label).value == pytest.approx(times, abs=0.005)


def test_wrong_mains_in_watts():
    # A 900 W, 120 V blanket on 230 V: 3306 W, 14.4 A; on 240 V: 3600 W, 15 A.
    assert 900 * load.wrong_mains(230, 120).value == pytest.approx(3306, abs=1)
    assert 230 / load.resistance(900, 120).value == pytest.approx(14.4, abs=0.05)
    assert 900 * load.wrong_mains(240, 120).value == pytest.approx(3600)
    assert 240 / load.resistance(900, 120).value == pytest.approx(15)


def test_fuse_and_lead_of_900_w_at_120_v():
    fuse = protection.fuse(7.5, tables.US_FUSES)
    assert fuse.value == 10
    assert 8.25 / fuse.value == pytest.approx(0.83, abs=0.006)
    lead = protection.conductor(fuse.value, tables.US_CORDS, tables.PVC_60, 30)
    # 16 AWG (13 A) at least; the 18 AWG of the same table just carries its 10 A.
    assert {size.name: size.rated_a for size in tables.US_CORDS}["16 AWG"] == 13
    assert lead.rated_a >= fuse.value
    # Both tables that the current rests on are named: that of the size, and that of the heat around it.
    carries = protection.derated(lead, tables.PVC_60, 35)
    assert all(said in carries.source for said in ("NEC Table 400.5(A)", "factors for ambient"))
    assert protection.conductor(10, tables.IEC_CORDS, tables.PVC_60, 30).mm2 == 1.0


def test_fuse_and_lead_of_900_w_at_230_v():
    fuse = protection.fuse(3.91, tables.IEC_FUSES)
    assert fuse.value in (5, 6.3)
    assert protection.conductor(fuse.value, tables.IEC_CORDS, tables.PVC_60, 30).mm2 == 0.75
    assert protection.conductor(fuse.value, tables.US_CORDS, tables.PVC_60, 30).name == "18 AWG"


def test_receptacle_limits_of_the_nec():
    # NEC Table 210.21(B)(2): 12 A on a 15 A receptacle, 16 A on a 20 A one.
    assert protection.receptacle(15, american=True).value == 12
    assert protection.receptacle(20, american=True).value == 16
    two = 2 * load.current(900, 120).value
    assert two == pytest.approx(15.0)
    assert 12 < two < 16
    assert 2 * load.current(900, 230).value == pytest.approx(7.8, abs=0.05)


def test_interleaving_on_a_limit():
    # Two blankets of 7.5 A on 12 A: 0.5 + 0.5 fits, never both on; 0.7 + 0.7 cannot be met, 0.5 each at most.
    share = load.interleaved_share([7.5, 7.5], 12).value
    assert share == pytest.approx(0.5)
    assert share < 0.7
    assert load.interleaved_share([3.5, 0.9], 12).value == 1
    assert load.interleaved_share([], 12).value == 1


SINKS = [
    # A, W/A, W, K/W at 40 C, K/W at 55 C, K/W by the junction at 40 C
    (7.5, 1.0, 7.5, 5.3, 3.3, 8.3),
    (7.5, 1.5, 11.3, 3.6, 2.2, 5.0),
    (8.25, 1.5, 12.4, 3.2, 2.0, 4.4),
    (3.91, 1.5, 5.9, 6.8, 4.3, 11),
    (4.30, 1.5, 6.5, 6.2, 3.9, 9.9),
]


@pytest.mark.parametrize("row", SINKS, ids=str)
def test_dissipation_and_heat_sinks_of_the_worked_examples(row):
    amperes, per_amp, watts, at_40, at_55, by_junction = row
    heat = switching.dissipation(amperes, per_amp).value
    assert heat == pytest.approx(watts, abs=0.051)
    assert switching.heat_sink(heat, 40).value == pytest.approx(at_40, abs=0.06)
    assert switching.heat_sink(heat, 55).value == pytest.approx(at_55, abs=0.06)
    assert switching.heat_sink_by_junction(heat, 40).value == pytest.approx(by_junction, abs=0.1)


def test_heat_sinks_to_ask_for():
    # 3 K/W or lower for 7.5 A at 120 V, 6 K/W or lower for 3.9 A at 230 V, 2 K/W if the box runs at 55 C.
    def to_buy(amperes, air_c):
        heat = switching.dissipation(amperes * 1.1).value
        return switching.sink_to_buy(switching.heat_sink(heat, air_c).value).value

    assert 2 < to_buy(7.5, 40) <= 3
    assert 5 < to_buy(3.91, 40) <= 6
    assert 1 < to_buy(7.5, 55) <= 2


def test_voltage_drop_of_the_worked_examples():
    # 7.5 A, 5 m of 1.5 mm2: 1.2 V, 1.0 % of 120 V, power -2.0 %; 0.75 mm2 would drop 2.3 V (-3.8 %).
    sizes = {size.mm2: size for size in tables.IEC_CORDS}
    drop = protection.drop(sizes[1.5], 7.5, 5, 120)
    assert drop.value == pytest.approx(1.2)
    assert "power -2.0 %" in drop.rule
    thin = protection.drop(sizes[0.75], 7.5, 5, 120)
    assert thin.value == pytest.approx(2.3, abs=0.03)
    assert "power -3.8 %" in thin.rule
    assert sizes[0.75].rated_a < 7.5


def test_hot_lead_of_the_worked_examples():
    # Silicone of 180 C at 135 C: 1.0 mm2 carries 7.4 A, not enough for 7.5 A; 1.5 mm2 carries 11.8 A.
    sizes = {size.mm2: size for size in tables.IEC_CORDS}
    assert protection.derated(sizes[1.0], tables.SILICONE_180, 135).value == pytest.approx(7.4)
    assert protection.derated(sizes[1.5], tables.SILICONE_180, 135).value == pytest.approx(11.8, abs=0.05)
    assert protection.conductor(7.5, [sizes[1.0], sizes[1.5]], tables.SILICONE_180, 135).mm2 == 1.5
    assert protection.derated(sizes[1.5], tables.SILICONE_180, 146) is None


def test_cords_of_the_nec():
    # NEC Table 400.5(A), two loaded conductors, 30 C, as quoted by UL tables.
    assert [(size.name, size.rated_a) for size in tables.US_CORDS] == [
        ("18 AWG", 10),
        ("16 AWG", 13),
        ("14 AWG", 18),
        ("12 AWG", 25),
    ]
    # AWG by its definition, ASTM B258: d = 0.127 mm x 92 ** ((36 - n) / 39).
    for size in tables.US_CORDS:
        d_mm = 0.127 * 92 ** ((36 - int(size.name.split()[0])) / 39)
        assert size.mm2 == pytest.approx(3.14159 / 4 * d_mm**2, rel=0.01)


def test_cords_of_bs_7671():
    # BS 7671 Table 4F3A and 4F3B, single phase, as reproduced.
    assert [(size.mm2, size.rated_a, size.drop_mv) for size in tables.IEC_CORDS] == [
        (0.5, 3, 93),
        (0.75, 6, 62),
        (1.0, 10, 46),
        (1.25, 13, 37),
        (1.5, 16, 32),
        (2.5, 25, 19),
        (4.0, 32, 12),
    ]
    # IEC 60228 class 5, ohm/km at 20 C (from memory), 0.393 % per K up to 60 C, there and back.
    class_5 = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95}
    for size in tables.IEC_CORDS:
        if size.mm2 in class_5:
            assert size.drop_mv == pytest.approx(2 * class_5[size.mm2] * (1 + 0.00393 * 40), rel=0.05)


@pytest.mark.parametrize(
    ("kind", "at_c", "factor"),
    [
        (tables.PVC_60, 30, 1.0),
        (tables.PVC_60, 35, 0.91),
        (tables.PVC_60, 41, 0.71),
        (tables.PVC_60, 55, 0.41),
        (tables.PVC_60, 56, None),
        (tables.SILICONE_180, 120, 1.0),
        (tables.SILICONE_180, 140, 0.60),
        (tables.GLASS_FIBRE, 175, 0.40),
    ],
)
def test_hot_surroundings_of_bs_7671(kind, at_c, factor):
    assert tables.hot_factor(kind, at_c) == factor


def test_fuse_sizes_follow_the_renard_series():
    # IEC 60127 takes its sizes from R10 of ISO 3: 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10.
    for renard in (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10):
        assert tables.IEC_FUSES.at_least(renard) == renard
    assert tables.IEC_FUSES.at_least(33) is None


def test_cut_off_lies_between_ceiling_and_rating_with_its_tolerance():
    # EN/IEC 60691: opens at its rated temperature +0/-10 C.
    for blanket_c in (216, 227, 230, 260):
        for zone_c in (120, 180, 190, 200):
            link = protection.cut_off(200, zone_c, blanket_c)
            assert link.value - 10 >= 200
            assert link.value <= blanket_c
    assert protection.cut_off(200, 190, 230).value == 227
    assert protection.cut_off(200, 190, 220).value == 216
    assert protection.cut_off(200, 190, 209) is None


def test_residual_current_devices():
    # UL 943: class A trips at 6 mA, not below 4 mA. IEC 60364-4-41, 415.1: 30 mA or less.
    assert 4 < protection.residual_current(american=True).value < 6
    assert protection.residual_current(american=False).value == 30
    # Four healthy blankets of 900 W: 2.7 mA, under the 4 mA at which a GFCI must not trip.
    assert protection.leakage([900] * 4).value == pytest.approx(2.7)
    assert protection.leakage([100]).value == 0.75
    assert protection.leakage([2000] * 4).value == 5


def test_mechanical_relay_life():
    # 100 000 operations at a 20 s window are 556 h, 50 000 are 278 h, half of that at 10 s.
    assert switching.life_hours(100_000, 20_000).value == pytest.approx(556, abs=0.5)
    assert switching.life_hours(50_000, 20_000).value == pytest.approx(278, abs=0.5)
    assert switching.life_hours(50_000, 10_000).value == pytest.approx(139, abs=0.5)


def test_contactor_breaks_everything_at_once():
    for total_a in (0.9, 4.4, 11, 15, 28):
        assert switching.contactor(total_a).value >= 1.1 * total_a


def test_every_figure_says_what_it_rests_on():
    size = tables.IEC_CORDS[2]
    facts = [
        load.resistance(900, 120),
        load.element_tolerance(),
        protection.fuse(7.5, tables.US_FUSES),
        protection.breaker(12, tables.US_BREAKERS, 15),
        protection.drop(size, 7.5, 5, 120),
        protection.holding(227),
        protection.earth_bond(),
        switching.solid_state(7.5),
        switching.mechanical(7.5),
    ]
    for fact in facts:
        assert isinstance(fact, Fact)
        assert fact.rule
        assert fact.source
        assert fact.status in STATUSES
        assert fact.as_json()["status"] == fact.status
        assert fact.text().startswith(tuple("0123456789"))
