"""A rig without a computer: which profile, two presses to heat, what came of the run."""

from board.panel_bench import NAMES, Rig
from board.samples import put


def test_profile_that_arrived_last_is_the_chosen_one_and_a_turn_goes_back():
    rig = Rig()
    rig.hand(ticks=3)
    assert (rig.alone.name, len(rig.alone.keys)) == (NAMES[2], 3)
    rig.hand(turned=1)
    assert rig.alone.name == NAMES[1]
    rig.hand("next")
    assert rig.alone.name == NAMES[0]
    rig.hand(turned=1)
    assert rig.alone.name == NAMES[2]
    rig.hand(turned=-24)
    assert rig.alone.name == NAMES[2]
    rig.hand(turned=-25)
    assert rig.alone.name == NAMES[0]


def test_profile_that_arrives_meanwhile_becomes_the_chosen_one():
    rig = Rig()
    rig.hand(turned=1, ticks=3)
    how, values = rig.upload()
    assert how == "ok"
    rig.hand()
    assert rig.alone.name == values["name"]
    assert rig.alone.keys[0] == values["hash"]


def test_first_press_lays_out_the_chosen_profile_and_the_second_arms():
    rig = Rig()
    rig.hand(turned=2)
    rig.hand("start")
    assert (rig.controller.mode, rig.controller.profile.name) == ("ready", NAMES[0])
    rig.hand(ticks=20)
    assert rig.controller.mode == "ready"
    rig.hand("start")
    assert rig.controller.mode == "proving"


def test_goal_4_a_press_that_bounces_never_lays_out_and_arms():
    # A worn contact: pressed again in every tick of the second and a half after the first press.
    rig = Rig()
    rig.hand(ticks=5)
    for _ in range(15):
        rig.hand("start")
        assert rig.controller.mode == "ready"
        assert rig.controller.outputs(rig.now_ms) == [False, False]
    rig.hand("start")
    assert rig.controller.mode == "proving"


def test_run_laid_out_by_a_computer_is_armed_by_one_press_as_ever():
    rig = Rig()
    _, values = rig.upload()
    rig.ok("ready", {"profile": values["hash"]})
    rig.hand("start")
    assert rig.controller.mode == "proving"


def test_stop_takes_back_what_was_laid_out_and_stop_with_start_lays_nothing_out():
    rig = Rig().laid_out()
    rig.hand("stop")
    assert rig.controller.mode == "idle"
    rig.hand("start", "stop")
    assert rig.controller.mode == "idle"


def test_without_a_display_only_the_last_profile_can_be_had_and_a_buzzer_has_to_tell():
    rig = Rig(shows=False, sounds=True)
    rig.hand("next", turned=2, ticks=3)
    rig.hand("start")
    assert (rig.controller.mode, rig.controller.profile.name) == ("ready", NAMES[2])
    together = Rig(shows=False, sounds=True)
    together.hand("start", turned=1)
    assert together.controller.profile.name == NAMES[2]
    mute = Rig(shows=False, sounds=False)
    mute.hand("start", ticks=3)
    assert mute.controller.mode == "idle"


def test_display_that_is_lost_takes_the_choice_back_to_the_last_profile():
    rig = Rig(sounds=True)
    rig.hand(turned=1)
    rig.alone.shows = False
    rig.hand()
    rig.hand("start")
    assert rig.controller.profile.name == NAMES[2]


def test_outcome_stays_until_a_press_which_does_nothing_else():
    rig = Rig().bending()
    rig.hand("stop")
    rig.hand(ticks=50)
    assert rig.alone.said == ("run 1 stopped", "stack may be hot")
    rig.hand("start")
    assert (rig.alone.said, rig.controller.mode) == ((), "idle")
    rig.hand("start")
    assert rig.controller.mode == "ready"


def test_refused_start_is_named():
    rig = Rig().laid_out()
    rig.store.profiles = {}
    rig.hand("start")
    while rig.controller.mode == "proving":
        rig.hand()
    rig.hand()
    assert rig.alone.said == ("does not begin:", "files")


def test_profile_that_cannot_be_laid_out_is_said_and_changes_nothing():
    # Stored for another rig: it names a zone that this one has not.
    rig = Rig(change=put("zones", 1, "name", "bouts"))
    rig.hand("start")
    assert (rig.controller.mode, rig.alone.said) == ("idle", ("not laid out:", "no zone"))
    rig.hand(turned=1)
    assert rig.alone.said == ()


def test_damaged_profile_shows_its_hash_and_is_refused():
    rig = Rig(names=NAMES[:1])
    (key,) = rig.store.profiles
    rig.store.profiles[key] = b'{"name": 3'
    rig.hand(ticks=2)
    assert rig.alone.name == key
    rig.hand("start")
    assert rig.alone.said == ("not laid out:", "damaged")


def test_flash_or_memory_that_fails_is_said():
    for failure, word in ((OSError(5), "flash failed"), (MemoryError(), "memory")):
        rig = Rig()

        def fail(*_, what=failure):
            raise what

        rig.service.lay_out = fail
        rig.hand("start")
        assert (rig.controller.mode, rig.alone.said) == ("idle", ("not laid out:", word))


def test_without_a_stored_profile_it_says_what_to_do():
    rig = Rig(names=())
    rig.hand(turned=1, ticks=2)
    rig.hand("start")
    assert rig.alone.said == ("no profile here", "upload one first")


def test_run_that_a_reset_cut_off_is_told_first():
    rig = Rig()
    rig.controller.boot(7, 1)
    alone = type(rig.alone)(rig.service)
    assert alone.said == ("run 7 was cut", "off by a reset")


def test_trip_is_acknowledged_by_start_alone_and_lays_nothing_out():
    rig = Rig()
    rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", rig.now_ms)
    rig.hand()
    rig.hand("next", turned=3)
    assert rig.controller.mode == "tripped"
    rig.hand("start")
    assert rig.controller.mode == "idle"
    rig.hand(ticks=5)
    assert rig.controller.mode == "idle"
