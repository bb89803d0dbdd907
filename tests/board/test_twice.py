"""Numbers kept twice: whole while nothing changed, and no change goes unseen."""

from board.samples import Draws, bench_rig, profile_mapping, put
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.twice import MemorySum, Twice


def test_number_is_whole_as_long_as_both_copies_say_the_same():
    for value in (200.0, 190.0, 93.333333, 0.0, -5.5, 40.01, 4999999.0):
        kept = Twice(value)
        assert kept.whole()
        assert abs(kept.copy() - value) <= 0.0051 + abs(value) * 1e-6


def test_goal_13_any_change_of_either_copy_is_seen():
    draws = Draws(11)
    for _ in range(500):
        value = 40.0 + draws.below(16000) / 100.0
        kept = Twice(value)
        kept.value = value + (0.02 + draws.share() * 900.0) * (1 if draws.below(2) else -1)
        assert not kept.whole()
        kept = Twice(value)
        # One bit of the other copy.
        kept._complement ^= 1 << draws.below(24)
        assert not kept.whole()


def test_what_is_no_number_is_never_whole():
    for value in (float("nan"), float("inf"), float("-inf"), 1e12):
        kept = Twice(200.0)
        kept.value = value
        assert not kept.whole()


def laid_out():
    rig = bench_rig()
    profile = parse_profile(profile_mapping(), rig)
    return rig, profile, MemorySum(rig, profile)


def test_sum_of_a_run_stays_while_nothing_changes():
    _, _, memory = laid_out()
    for _ in range(20):
        assert memory.whole()
        assert memory.seen == memory.limit


# Per change: rig or profile, the way to the value, its key, and what is there afterwards.
CHANGES = (
    ("rig", "zones", 1, "ceiling_c", 210.0),
    ("rig", "zones", 0, "power_w", 290.0),
    ("rig", "zones", 0, "current_a", 1.0),
    ("rig", "zones", 0, "offset_k", 0.5),
    ("rig", None, 0, "branch_limit_a", 13.0),
    ("rig", None, 0, "window_ms", 1100),
    ("rig", None, 0, "half_cycle_ms", 0),
    ("profile", "stages", 0, "target_c", 150.5),
    ("profile", "stages", 0, "zones", [1]),
    ("profile", "stages", 1, "longest_ms", 600000),
    ("profile", "stages", 2, "rate_k_per_min", None),
    ("profile", "stages", 3, "band_k", 200.0),
    ("profile", "stages", 3, "hold_ms", 121000),
    ("profile", "stages", 5, "below_c", 300.0),
    ("profile", "stages", 1, "mid_wood_c", 60.0),
    ("profile", "stages", 1, "mid_wood_ms", 1000),
    ("profile", "stages", 0, "wood_face_c", 190.0),
    ("profile", "stages", 0, "most_c", 190.0),
)


def test_change_of_any_limit_target_or_time_is_seen():
    for where, listed, position, key, value in CHANGES:
        rig, profile, memory = laid_out()
        thing = rig if where == "rig" else profile
        thing = thing if listed is None else getattr(thing, listed)[position]
        assert getattr(thing, key) != value
        setattr(thing, key, value)
        assert not memory.whole(), key
        assert memory.seen != memory.limit


def test_change_of_any_gain_is_seen():
    for key in bench_rig().zones[0].gains:
        rig, _, memory = laid_out()
        rig.zones[1].gains[key] *= 1.5
        assert not memory.whole(), key


def test_change_of_the_kept_sum_itself_is_seen():
    for bit in range(24):
        _, _, memory = laid_out()
        memory.limit ^= 1 << bit
        assert not memory.whole()
        _, _, memory = laid_out()
        memory._complement ^= 1 << bit
        assert not memory.whole()


def test_sum_is_a_small_whole_number_for_the_largest_rig():
    # The board's small integers hold 30 bits.
    rig = bench_rig(put("mains", "branch_limit_a", 32))
    for zone in rig.zones:
        zone.power_w = 5000.0
        zone.gains = dict.fromkeys(zone.gains, 1000.0)
    profile = parse_profile(profile_mapping(), rig)
    memory = MemorySum(rig, profile)
    assert memory.whole()
    assert 0 <= memory.limit < 1 << 30


def test_every_part_is_looked_at_within_a_second_and_a_half_of_ticks():
    for where, listed, position, key, value in CHANGES:
        rig, profile, memory = laid_out()
        for _ in range(7):
            assert memory.look(), key
        thing = rig if where == "rig" else profile
        thing = thing if listed is None else getattr(thing, listed)[position]
        setattr(thing, key, value)
        parts = 1 + len(rig.zones) + len(profile.stages)
        looks = [memory.look() for _ in range((parts + 1) // 2)]
        assert not all(looks), key
        assert memory.seen != memory.limit
    # The longest profile, on the largest rig.
    assert (1 + 4 + 24 + 1) // 2 <= 15
