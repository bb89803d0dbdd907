"""The estimate of the wood's middle: bounds no slab may break, gaps, the form, the blanket between."""

from board.samples import Draws, near
from ribwright_board.core.midwood import WoodEstimate


def driven(one, seconds, reading_c, under_w_m2=0.0):
    """Seconds beside a constant reading, or one that a function gives; the estimates."""
    # Not a list that grows: each time it does, the board's heap must have twice its place in one piece.
    seen = [None] * seconds
    for second in range(seconds):
        one.second(reading_c(second) if callable(reading_c) else reading_c, under_w_m2)
        seen[second] = one.mid_c
    return seen


def ramp(from_c=20.0, to_c=150.0, k_per_s=0.8):
    return lambda second: min(to_c, from_c + k_per_s * second)


def test_nothing_is_known_before_the_first_reading():
    one = WoodEstimate(1.7, 675.0, 11.0)
    assert one.mid_c is None
    assert driven(one, 3, None) == [None, None, None]
    # Then the wood is taken to be as warm as what lies on it.
    assert near(driven(one, 1, 48.0)[0], 48.0, 0.1)


def test_wood_in_a_rig_at_rest_stays_where_it_is():
    assert all(near(mid_c, 20.0, 1e-3) for mid_c in driven(WoodEstimate(1.7, 675.0, 11.0), 300, 20.0))


def test_middle_follows_late_and_never_passes_its_thermocouple():
    for thickness_mm in (0.4, 0.55, 0.9, 1.12, 1.5, 1.68, 1.7, 2.3, 4.0, 12.0):
        for density_kg_m3 in (150.0, 470.0, 675.0, 1400.0):
            for moisture in (2.0, 11.0, 24.0, 60.0):
                one = WoodEstimate(thickness_mm, density_kg_m3, moisture)
                last_c = 20.0
                for second in range(240):
                    reading_c = ramp()(second)
                    one.second(reading_c)
                    # A step too long would swing: here it may only rise, and never past what drives it.
                    assert last_c - 1e-3 <= one.mid_c <= reading_c + 5.0 * 0.8, (thickness_mm, second)
                    last_c = one.mid_c


def test_thick_wood_lags_more_than_thin():
    mids_c = [driven(WoodEstimate(mm, 675.0, 11.0), 100, ramp())[-1] for mm in (0.5, 1.0, 1.7, 2.5, 5.0)]
    assert mids_c == sorted(mids_c, reverse=True)
    assert mids_c[0] - mids_c[-1] > 20.0


def test_water_holds_the_middle_back_and_leaves_once():
    wet, dry = WoodEstimate(1.7, 675.0, 24.0), WoodEstimate(1.7, 675.0, 2.0)
    wet_c, dry_c = driven(wet, 170, ramp())[-1], driven(dry, 170, ramp())[-1]
    assert wet_c < dry_c - 8.0
    for _ in range(6):
        driven(wet, 200, 150.0)
    assert wet.moisture_percent < 0.5
    # Cooled and heated again, it climbs like dry wood does.
    for _ in range(3):
        driven(wet, 200, 40.0)
        driven(dry, 200, 40.0)
    assert wet.moisture_percent < 0.5
    assert near(driven(wet, 120, ramp(40.0))[-1], driven(dry, 120, ramp(40.0))[-1], 2.0)


def test_cold_wood_keeps_its_water():
    one = WoodEstimate(1.7, 675.0, 24.0)
    driven(one, 600, 85.0)
    assert near(one.moisture_percent, 24.0, 1e-3)


def test_steady_wood_is_what_three_resistances_in_a_row_say():
    # Dry by then, so only resistances count: 7e-3 to the wood, 2 mm of dry wood, 5.6 W/(m2 K) beyond. G by
    # Eq. 4-10 at 2 %: 0.55 / (1 - 0.265 x 28/30 x 0.55) = 0.6366; k by Eq. 4-15, 2.5 % more for every 10 C.
    one = WoodEstimate(2.0, 675.0, 2.0, 20.0, 7e-3, 5.6, 20.0)
    for _ in range(3):
        mid_c = driven(one, 1000, 140.0)[-1]
    k = (0.6366 * 0.1941 + 0.01864) * (1.0 + 0.0025 * (132.0 - 24.0))
    whole = 7e-3 + 2e-3 / k + 1.0 / 5.6
    assert near(mid_c, 140.0 - 120.0 * (7e-3 + 1e-3 / k) / whole, 0.1)


def test_slat_on_the_free_face_has_to_be_warmed_too():
    bare = driven(WoodEstimate(1.7, 675.0, 11.0, slat_mm=0.0), 60, ramp())[-1]
    slat = driven(WoodEstimate(1.7, 675.0, 11.0, slat_mm=0.25), 60, ramp())[-1]
    assert 2.0 < bare - slat < 15.0


def test_second_without_a_reading_has_no_estimate():
    one = WoodEstimate(1.7, 675.0, 11.0)
    driven(one, 100, ramp())
    assert driven(one, 1, None) == [None]
    assert driven(one, 1, 99.0)[0] is not None


def test_estimate_comes_back_after_as_long_as_readings_were_missing():
    for missing in (1, 2, 5, 30):
        one = WoodEstimate(1.7, 675.0, 11.0)
        driven(one, 100, 90.0)
        assert driven(one, missing, None) == [None] * missing
        seen = driven(one, missing, 90.0)
        assert seen[:-1] == [None] * (missing - 1)
        assert near(seen[-1], 90.0, 8.0)


def test_few_minutes_of_readings_are_enough_after_any_gap():
    one = WoodEstimate(1.7, 675.0, 11.0)
    driven(one, 300, 100.0)
    driven(one, 1000, None)
    # In truth the stack has cooled to 40 C meanwhile; one that never missed a reading is told the same.
    other = WoodEstimate(1.7, 675.0, 11.0)
    driven(other, 300, 100.0)
    driven(other, 1000, 40.0)
    # One lag is heat times resistance: 1.03 kg of dry wood with its water of 2306 J/(kg K) and a slat of 942
    # J/(m2 K), times 7e-3 and half of 1.7 mm of dry wood, 0.136 W/(m K): 43.9 s.
    assert near(one.forget_s, 4.0 * 43.9 + 1.0, 2.0)
    seen, wanted = driven(one, one.forget_s, 40.0), driven(other, one.forget_s, 40.0)
    assert seen[:-1] == [None] * (one.forget_s - 1)
    assert near(seen[-1], wanted[-1], 1.5)


def test_gap_gives_the_slope_no_leap():
    one = WoodEstimate(1.7, 675.0, 11.0)
    driven(one, 200, 50.0)
    driven(one, 3, None)
    # 30 K more behind the gap are no rise of 30 K in a second, which would drive the wood by far more.
    driven(one, 1, 80.0)
    assert one._drive_c == 80.0
    assert max(mid_c for mid_c in driven(one, 10, 80.0) if mid_c is not None) < 80.0


def test_slope_from_before_a_gap_drives_nothing_in_it_or_after_it():
    one = WoodEstimate(1.7, 675.0, 11.0)
    driven(one, 40, lambda second: 20.0 + 2.0 * second)
    driven(one, 1, None)
    assert one._drive_c == 98.0
    assert driven(one, 1, 98.0)[0] < 98.0
    assert one._drive_c == 98.0


def test_thin_and_light_wood_takes_no_more_steps_than_a_board_has_time_for():
    for thickness_mm in (0.4, 0.7, 1.0, 1.3, 1.5, 1.7, 2.3, 6.0, 36.0):
        for density_kg_m3 in (150.0, 400.0, 675.0, 1400.0):
            one = WoodEstimate(thickness_mm, density_kg_m3, 8.0)
            assert len(one._temps_c) * one._steps <= 48
            assert len(one._temps_c) == 6 or thickness_mm < 1.7 or density_kg_m3 < 400.0


def test_form_cools_the_middle_and_less_so_as_it_warms():
    one, hanging = WoodEstimate(1.7, 675.0, 11.0), WoodEstimate(1.7, 675.0, 11.0)
    driven(one, 900, ramp())
    driven(hanging, 900, ramp())
    one.meet_form()
    gaps = [there - here for here, there in zip(driven(one, 300, 150.0), driven(hanging, 300, 150.0))]
    assert gaps[0] < 1.0
    assert 8.0 < max(gaps) < 40.0
    assert gaps.index(max(gaps)) < 90
    assert gaps[-1] < 0.8 * max(gaps)


def test_form_takes_heat_as_a_half_space_does():
    # Half-space with its face held: flux = effusivity x difference / sqrt(pi t), textbook (Incropera Eq.
    # 5.61, from memory): sqrt(pi 100) / 282 m2 K/W after 100 s, behind what lies before it.
    one = WoodEstimate(1.7, 675.0, 2.0)
    driven(one, 600, 150.0)
    one.meet_form()
    driven(one, 99, 150.0)
    before = one.mid_c
    one.second(150.0)
    flux = one._conductance[0] * (one._temps_c[0] - 20.0)
    # In a row: half a cell, 7.2e-3 of foil and slat, sqrt(pi 100)/282 = 62.9e-3.
    half_cell = 0.5 * 1.7e-3 / 6 / 0.17
    assert near(flux, (one._temps_c[0] - 20.0) / (half_cell + 7.2e-3 + 62.9e-3), 20.0)
    assert near(one.mid_c, before, 0.2)


def test_blanket_between_delays_and_its_own_heat_warms():
    plain = driven(WoodEstimate(1.7, 675.0, 11.0), 120, ramp())[-1]
    behind = driven(WoodEstimate(1.7, 675.0, 11.0, under_mm=1.4), 120, ramp())[-1]
    assert plain - behind > 10.0
    one = WoodEstimate(1.7, 675.0, 11.0, under_mm=1.4)
    driven(one, 200, 60.0)
    cold_c = one.mid_c
    # Heated itself, it leaves the wood hotter than the thermocouple outside shows.
    assert driven(one, 200, 60.0, 3000.0)[-1] > cold_c + 10.0


def test_balance_of_heat_closes_over_a_run():
    # What comes through the heated face is stored, lost to the room, or gone with the water. Dry wood, slow
    # ramp, and the slab's own conductances; its heat capacity is summed second by second.
    one = WoodEstimate(1.7, 675.0, 2.0)
    one.second(20.0)
    stored = came = lost = 0.0
    for second in range(400):
        one._drive_c = 20.0 + 0.2 * second
        one._set_laws()
        for _ in range(one._steps):
            before = list(one._temps_c)
            came += one._conductance[-1] * (one._drive_c - before[-1]) * one._dt_s
            lost += one._conductance[0] * (before[0] - 20.0) * one._dt_s
            one._step(0.0)
            for cell in range(len(before)):
                stored += (one._temps_c[cell] - before[cell]) * one._dt_s / one._per_j[cell]
    assert came > 1e5
    assert near(stored + lost, came, 2e-3 * came)


def test_same_readings_give_the_same_estimate():
    draws = Draws(7)
    readings = [20.0 + 0.5 * second + draws.share() for second in range(200)]
    first, second = WoodEstimate(1.7, 675.0, 11.0), WoodEstimate(1.7, 675.0, 11.0)
    for reading_c in readings:
        first.second(reading_c)
        second.second(reading_c)
        assert first.mid_c == second.mid_c


def test_lists_of_a_slab_never_grow():
    one = WoodEstimate(1.7, 675.0, 24.0)
    kept = (one._temps_c, one._water, one._conductance, one._per_j)
    driven(one, 400, ramp())
    assert (one._temps_c, one._water, one._conductance, one._per_j) == kept
    assert [len(part) for part in kept] == [6, 6, 7, 6]


def test_face_lies_between_the_middle_and_the_thermocouple():
    one = WoodEstimate(1.7, 675.0, 11.0)
    assert one.face_c is None
    assert one.beside_c(150.0) is None
    for second in range(60):
        one.second(20.0 + 1.5 * second)
    assert one.mid_c < one.face_c < 20.0 + 1.5 * 59


def test_thermocouple_held_where_it_may_stand_brings_the_face_there_and_no_further():
    one = WoodEstimate(1.7, 675.0, 11.0)
    reading_c, hottest_c, ahead_k = 20.0, 0.0, 0.0
    for _ in range(1200):
        # A blanket that climbs by 1.5 K a second at most and cools by 0.5.
        wanted_c = one.beside_c(150.0)
        wanted_c = 300.0 if wanted_c is None else wanted_c
        reading_c += max(-0.5, min(1.5, wanted_c - reading_c))
        one.second(reading_c)
        hottest_c = max(hottest_c, one.face_c)
        ahead_k = max(ahead_k, reading_c - 150.0)
    assert near(one.face_c, 150.0, 0.5)
    assert hottest_c < 151.0
    # On the way the thermocouple stood well above what the face was allowed.
    assert ahead_k > 8.0
    assert reading_c < 150.0 + ahead_k - 2.0
