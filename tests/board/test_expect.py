"""The energy balance of a declared load, against figures worked out beside it."""

from board.samples import bench_rig, near, profile_mapping, put
from ribwright_board.core.expect import Expectation
from ribwright_board.core.profile import parse as parse_profile

# In plain numbers: a rule that has grown weaker shows here.
FACTOR_LEAST = 0.75
FACTOR_MOST = 1.5
# 240 W on 300 x 90 mm: 8888.9 W/m2. Blanket 1.4 mm of 1.56e6 J/(m3 K): 2184 J/(m2 K). Two slats of 0.25 mm
# of 3.77e6: 1885. Two plates of 1.7 mm sapele, side by side over the whole blanket, of 1.4e6: 2380.
AREAL_W_M2 = 240.0 / (0.3 * 0.09)
BLANKET_J, SLATS_J, WOOD_J = 2184.0, 1885.0, 2380.0


def expectation(change=None, piece=None, rig_change=None, zone=0):
    rig = bench_rig(rig_change)
    values = profile_mapping()
    values["piece"].update(piece or {})
    profile = parse_profile(values, rig)
    if change:
        change(rig)
    return Expectation(rig, zone, profile)


def test_rates_are_power_over_what_has_to_warm():
    expect = expectation()
    assert near(expect.bare_k_per_s, AREAL_W_M2 / BLANKET_J, 1e-3)
    assert near(expect.rate_k_per_s, AREAL_W_M2 / (BLANKET_J + SLATS_J + WOOD_J), 1e-3)
    assert near(expect.probe_k_per_s, AREAL_W_M2 / (BLANKET_J + SLATS_J + 0.2 * WOOD_J), 1e-3)


def test_without_a_profile_the_slats_are_empty():
    expect = Expectation(bench_rig(), 0)
    assert near(expect.rate_k_per_s, AREAL_W_M2 / (BLANKET_J + SLATS_J), 1e-3)
    assert near(expect.probe_k_per_s, expect.rate_k_per_s, 1e-9)
    assert expect.water_k == 0.0


def test_order_of_the_rates_holds_for_every_load():
    for thickness_mm in (0.8, 1.7, 3.0, 6.0):
        for plies in (1, 2, 3):
            expect = expectation(piece={"thickness_mm": thickness_mm, "plies": plies})
            assert expect.rate_k_per_s <= expect.probe_k_per_s <= expect.bare_k_per_s


def test_wood_that_covers_a_part_of_the_blanket_counts_in_that_share():
    # One strip of 45 mm on a blanket of 90 mm.
    expect = expectation(piece={"width_mm": 45, "pieces": 1})
    assert near(expect.rate_k_per_s, AREAL_W_M2 / (BLANKET_J + SLATS_J + 0.5 * WOOD_J), 1e-3)
    # Wood beside the blanket takes none of its heat.
    wide = expectation(piece={"width_mm": 200, "pieces": 1, "length_mm": 900})
    assert near(wide.rate_k_per_s, expectation().rate_k_per_s, 1e-6)


def test_layers_of_the_rig_count():
    thick = expectation(rig_change=put("stack", {"slat_mm": 0.5, "blanket_mm": 1.4}))
    assert near(thick.rate_k_per_s, AREAL_W_M2 / (BLANKET_J + 2.0 * SLATS_J + WOOD_J), 1e-3)
    bare = expectation(rig_change=put("stack", {"slat_mm": 0}))
    assert near(bare.probe_k_per_s, AREAL_W_M2 / (BLANKET_J + 0.2 * WOOD_J), 1e-3)


def test_rigs_own_figure_moves_the_whole_balance():
    plain = expectation()
    stated = expectation(rig_change=put("zones", 0, "response", 3.0))
    assert stated.probe_k_per_s == 3.0
    ratio = plain.rate_k_per_s / plain.probe_k_per_s
    assert near(stated.rate_k_per_s, 3.0 * ratio, 1e-5)
    # The blanket alone stays what it is: the time allowed to an unanswered one hangs on it.
    assert stated.bare_k_per_s == plain.bare_k_per_s


def test_wetter_wood_may_stand_longer_at_the_boil():
    seen = [expectation(piece={"wetted": how}).water_k for how in ("dry", "misted", "wiped", "soaked")]
    assert seen == sorted(seen)
    assert seen[0] > 0.0
    # 0.6 kg/m2 at 2.6 MJ/kg.
    assert near(seen[3], 0.6 * 2.6e6 / (BLANKET_J + SLATS_J + WOOD_J), 0.5)


def test_power_to_hold_grows_with_the_height_above_the_room():
    expect = expectation()
    # 25 W/(m2 K), 130 K above 20 C.
    assert near(expect.hold_share(150.0), 25.0 * 130.0 / AREAL_W_M2, 1e-4)
    assert expect.hold_share(20.0) == 0.0
    assert expect.hold_share(-5.0) == 0.0
    expect.learn(1.0, 30.0)
    assert near(expect.hold_share(150.0), 25.0 * 120.0 / AREAL_W_M2, 1e-4)


def test_proof_corrects_the_balance_within_its_bounds():
    expect = expectation()
    before_k = expect.most_rise_k(1.0, 1.0)
    for ratio, factor in (
        (1.2, 1.2),
        (0.8, 0.8),
        (5.0, FACTOR_MOST),
        (0.0, FACTOR_LEAST),
        (-1.0, FACTOR_LEAST),
        (float("inf"), FACTOR_MOST),
    ):
        expect.learn(ratio, 20.0)
        assert expect.factor == factor
        # A slow answer asks for less, and forbids no more than before.
        assert near(expect.most_rise_k(1.0, 1.0), max(1.0, factor) * before_k, 1e-6)


def test_most_rise_is_linear_in_power_and_time():
    expect = expectation()
    whole_k = expect.most_rise_k(1.0, 1.0)
    assert near(expect.most_rise_k(0.25, 8.0), 2.0 * whole_k, 1e-5)
    assert expect.most_rise_k(0.0, 60.0) == 0.0


def test_rig_that_has_shown_its_answer_is_given_less_room():
    def shown(rig):
        rig.zones[0].response_k_per_s = 1.0

    assert (expectation().fast_share, expectation(shown).fast_share) == (1.65, 1.45)


def test_slow_junctions_answer_does_not_slow_the_load():
    def slow(rig):
        rig.zones[0].response_k_per_s = 0.5

    assert near(expectation(slow).rate_k_per_s, expectation().rate_k_per_s, 1e-6)
    assert expectation(slow).probe_k_per_s == 0.5


def test_what_lies_on_a_blanket_decides_how_weakly_it_may_answer():
    thin = {"thickness_mm": 0.5, "width_mm": 5}

    def no_slats(rig):
        rig.slat_mm = 0.0

    loaded, bare = expectation(), expectation(no_slats, thin)
    assert (loaded.loaded, loaded.weak_share, loaded.all_weak_share) == (True, 0.3, 0.46)
    assert (bare.loaded, bare.weak_share, bare.all_weak_share) == (False, 0.25, 0.35)
