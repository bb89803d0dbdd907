"""The campaign's sheets: balances, closed forms, plateau, chopped time, disturbances, scatter."""

import pickle
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from ribwright_sim.campaign import sheet_parts as parts
from ribwright_sim.campaign.plants import STRUCTURES, Sheet
from ribwright_sim.campaign.sheet_draw import RANGES
from ribwright_sim.campaign.sheet_fast import compiled_advance
from ribwright_sim.campaign.sheet_kernel import advance as plain_advance
from ribwright_sim.campaign.sheet_parts import number_parts
from ribwright_sim.materials import StackError
from sim.example_rig import PIECE, RIG

WAIST, FULL = 0, 1
SEEDS = range(30)
# 105 W on 150 x 90 mm [W/m2].
RATED_W_M2 = 7778.0


def seed_with(**laws):
    """The first seed whose structure has these laws."""
    for seed in range(1000):
        found = Sheet.draw(RIG, PIECE, seed=seed).structure
        if all(getattr(found, name) == law for name, law in laws.items()):
            return seed
    raise AssertionError(laws)


def plainly_held(sheet, seconds, target_c=150.0):
    """On below the target, off above it; gives the share of the time each blanket was on."""
    on = np.zeros(2)
    for _ in range(seconds):
        share = [float(sheet.thermocouple_c(zone) < target_c) for zone in (WAIST, FULL)]
        sheet.advance(1.0, share)
        on += share
    return on / seconds


@cache
def warm_states():
    """Every seed's sheet after 20 minutes at 150 C, and the shares that hold it there."""
    found = []
    for seed in SEEDS:
        sheet = Sheet.draw(RIG, PIECE, seed=seed)
        plainly_held(sheet, 1200)
        found.append((sheet, plainly_held(sheet, 400)))
    return found


def falls_k(zone, act, seconds):
    """How far each seed's reading falls below where it was, the mean power held."""
    found = []
    for warm, share in warm_states():
        sheet = warm.copy()
        before_c = sheet.thermocouple_c(zone)
        act(sheet)
        lowest_c = before_c
        for _ in range(seconds):
            sheet.advance(1.0, share)
            lowest_c = min(lowest_c, sheet.thermocouple_c(zone))
        found.append(before_c - lowest_c)
    return np.array(found)


def test_thirty_six_structures_and_thirty_seeds_meet_every_law():
    assert len(set(STRUCTURES)) == 36
    met = {Sheet.draw(RIG, PIECE, seed=seed).structure for seed in SEEDS}
    assert len(met) > 15
    for place in range(4):
        assert {one[place] for one in met} == {one[place] for one in STRUCTURES}


@pytest.mark.parametrize("bare", [False, True])
def test_heat_and_water_balance_close(bare):
    for seed in range(12):
        sheet = Sheet.draw(RIG, {**PIECE, "wetted": "soaked"}, seed=seed, bare=bare, mains=1.1)
        for step in range(40):
            sheet.advance(7.3, [float(step % 3 > 0), 0.7])
            if step % 10 == 5:
                zone = step // 10 % 2
                sheet.press(zone, cold_wet=step > 20)
                sheet.spray(zone, 0.003)
                sheet.open_foil(zone, 9.0)
                sheet.hand(zone, 12.0)
                sheet.draught(2.0)
                sheet.contact(zone, 0.4)
        heat = sheet.heat()
        assert abs(heat.residual_j) < 1e-9 * heat.heater_j
        assert heat.heater_j > 50e3
        assert (heat.vapour_j > 2e3) != bare
    assert sheet.water_kg() >= 0.0


def test_power_goes_with_the_square_of_the_mains_and_with_each_blanket():
    given = []
    for mains, factor in ((1.0, 1.0), (1.1, 1.0), (1.0, 0.5)):
        sheet = Sheet.draw(RIG, PIECE, seed=3)
        sheet.mains = mains
        sheet.power_factor[WAIST] = factor
        sheet.advance(10.0, [1.0, 0.0])
        given.append(sheet.heat().heater_j)
    # Rated 105 W, wattage tolerance -10 to +5 % (materials.csv).
    assert 0.9 * 1050.0 <= given[0] <= 1.05 * 1050.0
    assert given[1] / given[0] == pytest.approx(1.21, rel=1e-12)
    assert given[2] / given[0] == pytest.approx(0.5, rel=1e-12)


def evened(sheet, **single):
    """The same sheet with nothing that varies over the area: each column then is a wall of its own."""
    plan, numbers = sheet.drawn.plan, sheet.drawn.numbers.copy()
    p = number_parts(numbers, plan)
    p[2][:] = p[2].mean(axis=1, keepdims=True)
    p[3][:] = 0.0
    p[5][:] = np.where(sheet.drawn.area.lies > 0.0, RATED_W_M2, 0.0)
    p[8][0] = 0.0
    for name, value in single.items():
        p[9][parts.NUMBERS.index(name)] = value
    sheet.drawn = replace(sheet.drawn, numbers=numbers)
    return p


def test_bare_blanket_settles_where_the_closed_form_says():
    # A plate heated in its middle, both faces losing h (T - room): face q/2h above the room, and the core
    # another q/2 times the way from the middle of the core to the middle of the outer third.
    sheet = Sheet.draw(RIG, PIECE, seed=seed_with(faces=parts.STRAIGHT), bare=True, ambient_c=20.0)
    p = evened(sheet, face_w_m2_k=14.0)
    flux = 0.2 * RATED_W_M2
    sheet.advance(4000.0, [0.2, 0.2])
    face_c = 20.0 + flux / 2.0 / 14.0
    assert sheet.thermocouple_c(WAIST) == pytest.approx(face_c, abs=1e-6)
    assert sheet.cutoff_place_c(FULL) == pytest.approx(face_c, abs=1e-6)
    core_c = face_c + flux / 2.0 * p[1][0, 0]
    assert sheet.hottest_blanket_c(FULL) == pytest.approx(core_c, abs=1e-6)


def test_bare_blanket_warms_as_the_closed_form_says():
    # Small flux through the thickness: near enough a lump, rise = q/2h (1 - exp(-2h t/C)).
    sheet = Sheet.draw(RIG, PIECE, seed=seed_with(faces=parts.STRAIGHT), bare=True, ambient_c=20.0)
    p = evened(sheet, face_w_m2_k=14.0)
    p[1][:] *= 1e-3
    cap = p[0][:3, 0].sum()
    for seconds in (20.0, 40.0, 60.0):
        sheet.advance(20.0, [0.5, 0.5])
        rise = 0.5 * RATED_W_M2 / 28.0 * (1.0 - np.exp(-28.0 * seconds / cap))
        assert sheet.hottest_blanket_c(WAIST) - 20.0 == pytest.approx(rise, rel=3e-3)


def test_hanging_stack_settles_where_the_closed_form_says():
    # Two ways out of the core of the long blanket where the short one is not: one out through the outer slat,
    # one in through wood and inner slat, each a row of resistances and a face that loses 12 W/(m2 K).
    seed = seed_with(faces=parts.STRAIGHT, contact=parts.STEADY, short_inside=False)
    dry = {**PIECE, "wetted": "dry", "moisture_percent": 0.0}
    sheet = Sheet.draw(RIG, dry, seed=seed, ambient_c=20.0)
    p = evened(sheet, face_w_m2_k=12.0, gap_w_m2_k=1e-9)
    column, core = int(sheet.drawn.area.own[FULL][0]), sheet.drawn.blankets[FULL] + 1
    solid, touch, kind = p[1][:, column], p[2][:, column], sheet.drawn.plan[parts.HEAD :]
    way = [
        solid[k] + (touch[k] if kind[k] != parts.SOLID else 0.0) for k in range(sheet.drawn.plan[parts.ROWS])
    ]
    inward = sum(way[sheet.drawn.slat : core]) + 1.0 / 12.0
    outward = sum(way[core:-1]) + 1.0 / 12.0
    sheet.advance(20000.0, [0.0, 0.3])
    rise = 0.3 * RATED_W_M2 / (1.0 / inward + 1.0 / outward)
    assert sheet._t[core, column] - 20.0 == pytest.approx(rise, rel=1e-6)


@pytest.mark.parametrize("law", [parts.FRONT, parts.ACTIVATED, parts.VENTED])
def test_soaked_wood_lingers_on_its_way_past_boiling(law):
    # Hot-pressing studies (abstracts): a plateau near 100 C, longer with more moisture.
    def passage(**wood):
        sheet = Sheet.draw(RIG, {**PIECE, **wood}, seed=seed_with(drying=law))
        first, column = int(sheet.drawn.plan[parts.WOOD_FIRST]), int(sheet.drawn.area.own[FULL][4])
        first_kg, below = sheet.water_kg(), 0
        seconds = 0
        while sheet._t[first + 1, column] < 120.0 and seconds < 2000:
            sheet.advance(1.0, [0.0, 0.6])
            seconds += 1
            below += sheet._t[first + 1, column] < 90.0
        return seconds - below, first_kg - sheet.water_kg()

    ovendry, nothing = passage(moisture_percent=0.0, wetted="dry")
    soaked, gone_kg = passage(wetted="soaked")
    assert nothing == 0.0
    assert soaked > 2.0 * ovendry
    assert gone_kg > 0.003


def test_a_boiling_front_holds_the_reading_s_wood_at_boiling():
    sheet = Sheet.draw(RIG, {**PIECE, "wetted": "soaked"}, seed=seed_with(drying=parts.FRONT))
    first, column = int(sheet.drawn.plan[parts.WOOD_FIRST]), int(sheet.drawn.area.own[FULL][4])
    held = 0
    for _ in range(600):
        sheet.advance(1.0, [0.0, 0.6])
        held += 99.0 < sheet._t[first, column] < 106.0
    assert held > 60


def test_drying_takes_its_latent_heat():
    sheet = Sheet.draw(RIG, {**PIECE, "wetted": "soaked"}, seed=5)
    first_kg = sheet.water_kg()
    plainly_held(sheet, 900)
    gone_kg = first_kg - sheet.water_kg()
    per_kg = sheet.heat().vapour_j / gone_kg
    low, high = RANGES["latent_j_kg"]
    # And what the water itself held above 0 C, 4190 J/(kg K) at 60 to 150 C.
    assert gone_kg > 0.005
    assert low + 60.0 * 4190.0 < per_kg < high + 150.0 * 4190.0


def test_chopping_time_changes_nothing():
    rng = np.random.default_rng(7)
    for bare in (False, True):
        whole, chopped = (Sheet.draw(RIG, PIECE, seed=4, bare=bare) for _ in range(2))
        for step in range(300):
            share = [float(step % 3 == 0), float(step % 7 < 3)]
            whole.advance(0.1, share)
            pieces = rng.dirichlet(np.ones(1 + step % 4)) * 0.1
            for piece_s in pieces:
                chopped.advance(float(piece_s), share)
            if step == 100:
                whole.advance(5.0, share)
                for _ in range(500):
                    chopped.advance(0.01, share)
        assert whole.time_s == pytest.approx(chopped.time_s, abs=1e-6)
        for zone in (WAIST, FULL):
            assert whole.thermocouple_c(zone) == pytest.approx(chopped.thermocouple_c(zone), abs=1e-9)
            assert whole.hottest_blanket_c(zone) == pytest.approx(chopped.hottest_blanket_c(zone), abs=1e-9)


def test_a_relay_that_switches_within_a_step_gives_the_same_heat():
    switched, mean = (Sheet.draw(RIG, PIECE, seed=4) for _ in range(2))
    for _ in range(300):
        switched.advance(0.03, [1.0, 0.0])
        switched.advance(0.07, [0.0, 1.0])
        mean.advance(0.1, [0.3, 0.7])
    assert switched.heat().heater_j == pytest.approx(mean.heat().heater_j, rel=1e-12)
    assert switched.thermocouple_c(FULL) == pytest.approx(mean.thermocouple_c(FULL), abs=1e-9)


def test_compiled_and_plain_steps_agree():
    fast = compiled_advance()
    seen = set()
    for seed in range(14):
        sheet = Sheet.draw(RIG, {**PIECE, "wetted": "wiped"}, seed=seed, start_c=105.0, bare=seed % 7 == 6)
        sheet.press(WAIST, cold_wet=True)
        sheet.open_foil(FULL, 2.0)
        sheet.hand(FULL, 30.0)
        seen.add(sheet.structure)
        plain, compiled, drive = sheet._w.copy(), sheet._w.copy(), np.array([1.0, 0.6])
        plain_advance(plain, sheet.drawn.numbers, sheet.drawn.plan, 35, drive)
        fast(compiled, sheet.drawn.numbers, sheet.drawn.plan, 35, drive)
        assert np.abs(plain - sheet._w).max() > 1.0
        np.testing.assert_allclose(compiled, plain, rtol=1e-9, atol=1e-9)
    assert len(seen) > 8


def test_copy_and_pickle_have_the_same_future_and_go_their_own_way():
    sheet = Sheet.draw(RIG, PIECE, seed=9)
    plainly_held(sheet, 200)
    sheet.advance(0.03, [1.0, 0.2])
    sheet.open_foil(FULL, 20.0)
    sheet.power_factor[WAIST] = 0.9
    others = [sheet.copy(), pickle.loads(pickle.dumps(sheet))]  # noqa: S301 - made here
    left_alone = sheet.copy()
    ends = []
    for one in [sheet, *others]:
        for _ in range(300):
            one.advance(0.05, [0.4, 0.8])
        ends.append([one.thermocouple_c(z) for z in (0, 1)] + [one.time_s, one.hottest_blanket_c(1)])
    assert ends[0] == ends[1] == ends[2]
    assert left_alone.time_s == pytest.approx(200.03)
    others[0].power_factor[WAIST] = 0.1
    assert sheet.power_factor[WAIST] == 0.9


# Scatter asked for: x 0.7 to 1.4 about the nominal stack at 7800 W/m2, which holds 150 C with 0.35-0.42 of
# its power and heats by 1.1 K/s at 90 C; junctions that lag up to 8 s show less of it in the first seconds.
def test_full_power_heats_within_the_stated_scatter():
    for seed in SEEDS:
        sheet = Sheet.draw(RIG, PIECE, seed=seed)
        readings = [sheet.thermocouple_c(FULL)]
        while readings[-1] < 97.0:
            sheet.advance(1.0, [0.0, 1.0])
            readings.append(sheet.thermocouple_c(FULL))
        assert 0.45 * 14.6 < readings[10] - readings[0] < 1.4 * 14.6
        fast = np.searchsorted(readings, [83.0, 96.0])
        slope = (readings[fast[1]] - readings[fast[0]]) / (fast[1] - fast[0])
        assert 0.7 * 1.1 < slope < 1.4 * 1.1


def test_holding_150_c_takes_the_stated_share():
    for _, share in warm_states():
        assert 0.7 * 0.38 < share[FULL] < 1.45 * 0.38
        assert 0.0 <= share[WAIST] < 0.15


def test_no_node_is_far_above_the_reading_in_a_quiet_hold():
    for sheet, _ in warm_states():
        for zone in (WAIST, FULL):
            assert 0.0 < sheet.hottest_blanket_c(zone) - sheet.thermocouple_c(zone) < 32.0
            assert sheet.hottest_blanket_c(zone) >= sheet.cutoff_place_c(zone)


def test_a_bare_blanket_heats_at_about_3_k_a_second_in_its_nodes():
    # 5 W/in2 on a bare blanket of about 2340 J/(m2 K): 3.3 K/s (computed from materials.csv).
    for seed in SEEDS:
        sheet = Sheet.draw(RIG, PIECE, seed=seed, bare=True)
        sheet.advance(1.0, [1.0, 1.0])
        first_c = sheet.cutoff_place_c(FULL)
        sheet.advance(5.0, [1.0, 1.0])
        assert 0.6 * 3.3 < (sheet.cutoff_place_c(FULL) - first_c) / 5.0 < 1.3 * 3.3


def test_the_right_reading_answers_a_probe():
    # 5 s at 30 %: the nominal stack shows 2.5 K after 8 s, slow junctions later and less.
    for seed in SEEDS:
        for zone in (WAIST, FULL):
            for bare in (False, True):
                sheet = Sheet.draw(RIG, PIECE, seed=seed, bare=bare)
                begin_c = sheet.thermocouple_c(zone)
                sheet.advance(5.0, [0.3 * (z == zone) for z in (WAIST, FULL)])
                sheet.advance(3.0, [0.0, 0.0])
                rise = sheet.thermocouple_c(zone) - begin_c
                assert 1.0 < rise < (5.5 if bare else 3.5)
                assert sheet.thermocouple_c(1 - zone) - begin_c < 0.5 * rise


def test_a_cold_wet_strip_takes_the_reading_down_10_to_60_k():
    for zone in (WAIST, FULL):
        falls = falls_k(zone, lambda sheet, zone=zone: sheet.press(zone, cold_wet=True), 40)
        assert falls.min() > 10.0
        assert falls.max() < 60.0


def test_opened_foil_takes_it_down_10_to_40_k_and_lets_it_come_back():
    for zone in (WAIST, FULL):
        falls = falls_k(zone, lambda sheet, zone=zone: sheet.open_foil(zone, 15.0), 40)
        assert 7.0 < falls.min() < falls.max() < 40.0
    sheet, share = warm_states()[0][0].copy(), warm_states()[0][1]
    before_c = sheet.thermocouple_c(FULL)
    sheet.open_foil(FULL, 15.0)
    sheet.advance(900.0, share)
    assert sheet.thermocouple_c(FULL) == pytest.approx(before_c, abs=8.0)


def test_spray_lets_it_fall_and_stay_down_while_the_water_goes():
    # 0.2 kg/m2 on the zone's own part.
    kg = 0.2 * 0.09 * 0.45
    falls = falls_k(FULL, lambda sheet: sheet.spray(FULL, kg), 60)
    assert 12.0 < falls.min() < falls.max() < 60.0
    sheet = warm_states()[1][0].copy()
    before_kg = sheet.water_kg()
    sheet.spray(FULL, kg)
    assert sheet.water_kg() - before_kg == pytest.approx(kg)
    sheet.advance(400.0, [0.05, 0.5])
    assert sheet.water_kg() - before_kg < 0.3 * kg


def test_draught_hand_and_contact_do_something_and_not_too_much():
    for act, least, most in (
        (lambda sheet: sheet.draught(2.0), 5.0, 45.0),
        (lambda sheet: sheet.hand(FULL, 20.0), -1.0, 45.0),
        (lambda sheet: sheet.contact(FULL, 3.0), -1.0, 25.0),
        (lambda sheet: sheet.contact(FULL, 0.3), -1.0, 25.0),
        (lambda sheet: sheet.press(FULL), -1.0, 25.0),
    ):
        falls = falls_k(FULL, act, 60)
        assert least < falls.min() <= falls.max() < most
        still = falls_k(FULL, Sheet.copy, 60)
        assert np.abs(falls - still).max() > 0.5


def test_pressing_warms_the_form_and_lifting_stops_it():
    sheet, share = warm_states()[2][0].copy(), warm_states()[2][1]
    column = int(sheet.drawn.area.own[FULL][4])
    hanging, slat = sheet.copy(), sheet.drawn.slat
    sheet.press(FULL)
    for one in (sheet, hanging):
        one.advance(120.0, share)
    assert sheet._t[slat - 1, column] > hanging._t[slat - 1, column] + 10.0
    sheet.lift(FULL)
    sheet.advance(120.0, share)
    hanging.advance(120.0, share)
    assert sheet._doings[parts.PRESSED, column] == 0.0
    assert sheet._doings[parts.PRESSED].max() == 0.0


def test_a_loose_thermocouple_reads_air_and_a_fixed_one_its_blanket():
    sheet, share = warm_states()[3][0].copy(), warm_states()[3][1]
    before_c = sheet.thermocouple_c(FULL)
    sheet.detach(FULL)
    sheet.advance(100.0, share)
    assert 20.0 < sheet.thermocouple_c(FULL) < 65.0
    sheet.attach(FULL)
    sheet.advance(60.0, share)
    assert sheet.thermocouple_c(FULL) == pytest.approx(before_c, abs=6.0)


def test_chips_sit_a_little_above_the_room_and_starts_are_as_asked():
    sheet = Sheet.draw(RIG, PIECE, seed=2, ambient_c=5.0, start_c=120.0)
    assert 5.0 <= sheet.cold_junction_c(WAIST) <= 11.0
    assert sheet.thermocouple_c(FULL) == 120.0
    assert sheet._t[0].max() == 5.0
    assert sheet.zones == ("waist", "full")
    # Materials' lag does not count here: 2 to 8 s.
    lags = [one.lag_s for seed in SEEDS for one in Sheet.draw(RIG, PIECE, seed=seed).drawn.junctions]
    assert 2.0 <= min(lags) < 2.5
    assert 6.0 < max(lags) <= 8.0


def test_one_blanket_and_three_in_a_row_can_be_drawn():
    alone = {"zones": [{"name": "only", "power_w": 420.0, "length_mm": 600, "width_mm": 90}]}
    row = {"zones": [{**alone["zones"][0], "name": name, "length_mm": 560} for name in "abc"]}
    for rig, zones in ((alone, 1), (row, 3)):
        sheet = Sheet.draw(rig, PIECE, seed=8)
        sheet.advance(60.0, [1.0] + [0.0] * (zones - 1))
        assert sheet.thermocouple_c(0) > 60.0
        assert all(sheet.thermocouple_c(zone) < 25.0 for zone in range(1, zones))


def test_wrong_values_are_refused():
    sheet = Sheet.draw(RIG, PIECE, seed=0)
    for call, what in (
        (lambda: sheet.advance(-1.0, [0.0, 0.0]), "dt_s"),
        (lambda: sheet.advance(1.0, [0.0]), "share"),
        (lambda: sheet.contact(WAIST, 0.0), "factor"),
        (lambda: sheet.draught(float("nan")), "factor"),
        (lambda: Sheet.draw(RIG, PIECE, seed=0, ambient_c=500.0), "ambient_c"),
    ):
        with pytest.raises(StackError, match=what):
            call()
