"""What the display shows in every mode, as the driver gets it."""

from board.panel_bench import NAMES, Rig
from board.samples import put
from ribwright_board.core.acts import carry_out
from ribwright_board.core.faces import LINE, NO_READING, SIDE, clock, face, figure, wrapped
from ribwright_board.core.nudging import nudge
from ribwright_board.core.sensing import Missing, Reading
from ribwright_board.core.units import TENTHS_MISSING


def shown(rig, ticks=11):
    """The face once a second's figures are there."""
    rig.hand(ticks=ticks)
    found = face(rig.controller, rig.alone)
    top, mark, side, low = found[1:5]
    assert 1 <= len(found[0]) <= 3
    assert len(top) + len(mark) < LINE
    assert [len(line) <= SIDE for line in side] == [True] * 4
    assert [len(line) <= LINE for line in low] == [True] * 2
    return found


def test_reading_is_rounded_to_whole_degrees_in_the_rigs_unit():
    assert [figure(t, "C") for t in (0, 4, 5, 14, 15, -4, -6, -994)] == "0 0 1 1 2 0 -1 -99".split()
    # 2200 F and the like are no readings of this rig, and would not fit.
    assert figure(TENTHS_MISSING, "C") == figure(5400, "F") == figure(-1000, "C") == NO_READING
    # ITS-90 fixed points: tin freezes at 231.928 C = 449.47 F, water boils at 99.97 C = 211.95 F.
    assert (figure(2319, "F"), figure(1000, "F")) == ("449", "212")


def test_texts_break_between_words():
    assert wrapped("waist home") == ("waist home", "")
    assert wrapped("press the waist down to 6 mm") == ("press the waist", "down to 6 mm")
    assert wrapped("a" * 40) == ("a" * 16, "a" * 16)
    assert [clock(ms) for ms in (0, 59999, 60000, 5999000, 6000000)] == "0:00 0:59 1:00 99:59 100min".split()


def test_rest_shows_the_chosen_profile_the_hottest_zone_and_that_nothing_heats():
    rig = Rig()
    rig.blankets.temps_c[1] = 61.0
    found = shown(rig)
    # It cools on the way to the next second.
    assert found[0] in ("60", "61")
    assert found[1:] == ("1 of 3", "off", ("full", "deg C", "start:", "ready"), (NAMES[2], ""), False)
    empty = shown(Rig(names=()))
    assert empty[4:] == (("no profile here", "upload one first"), False)


def test_laid_out_run_asks_for_the_press_that_heats():
    rig = Rig().laid_out()
    found = shown(rig)
    assert found[1:3] == ("ready", "off")
    assert found[4:] == (("trial strip", "start: heat on"), True)
    rig.hand("start")
    found = shown(rig, 40)
    assert (found[1], found[5]) == ("checking", False)
    assert found[2] in ("heat", "HEAT")


def test_stage_target_time_and_heat_are_shown_while_it_ramps():
    rig = Rig().bending()
    found = shown(rig, 22)
    assert found[1:3] == ("1/6 ramp", "HEAT")
    assert found[3] == ("waist", "to 150", "+0:02", "deg C")
    assert found[4:] == (("ramp 1", ""), False)
    # The figure is the last second's mean of the zone in work.
    assert abs(int(found[0]) - rig.blankets.temps_c[0]) < 8


def test_cue_and_hold_ask_the_maker_and_the_time_left_runs_down():
    rig = Rig().bending()
    while rig.controller.runner.index == 0:
        rig.hand()
    found = shown(rig)
    assert (found[1], found[4], found[5]) == ("2/6 hold", ("press the waist", "on"), True)
    assert found[3][2] == "4:58"
    rig.hand("next")
    assert shown(rig)[4:] == (("press next when", "it is bent"), True)
    nudge(rig.controller, -3)
    assert shown(rig)[3][1:] == ("to 147", "4:56", "C-3K")


def test_short_cue_says_what_to_press():
    rig = Rig().bending()
    while rig.controller.runner.index == 0:
        rig.hand()
    rig.controller.runner.stage.cues[0] = "waist home"
    assert shown(rig)[4] == ("waist home", "then press next")


def test_question_whether_anybody_is_there_comes_before_the_cue():
    rig = Rig().bending()
    rig.controller.course.attend.asked = True
    assert shown(rig)[4:] == (("are you there?", "press a button"), True)


def test_coolest_zone_of_a_stage_is_shown_and_none_without_a_reading():
    rig = Rig().bending()
    rig.controller.runner.begin(2)
    rig.blankets.temps_c[0], rig.blankets.temps_c[1] = 90.0, 60.0
    assert shown(rig, 2)[3][0] in ("waist", "full")
    rows = rig.controller.drive.figures.rows
    rows[0][1], rows[1][1] = 900, 600
    assert face(rig.controller, rig.alone)[0] == "60"
    rows[0][1] = TENTHS_MISSING
    found = face(rig.controller, rig.alone)
    assert (found[0], found[3][0]) == (NO_READING, "waist")


def test_trip_shows_its_cause_zone_and_what_to_do_and_no_heat():
    rig = Rig().bending()
    for _ in range(40):
        good = Reading(40.0, 20.0, rig.now_ms + 100)
        rig.tick(items=[Missing("open", rig.now_ms + 100), good])
    found = face(rig.controller, rig.alone)
    assert found[:4] == (NO_READING, "SHUT DOWN", "off", ("waist", "", "", "deg C"))
    assert found[4:] == (("open", "look, then start"), True)
    whole = Rig()
    whole.controller.guard.shut("contactor_closed", -1, 1.0, 2.0, "", 0)
    found = shown(whole)
    assert (found[3][0], found[4][0]) == ("rig", "contactor closed")


def test_no_heat_is_shown_from_the_moment_of_a_trip():
    rig = Rig().bending()
    assert shown(rig, 22)[2] == "HEAT"
    rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", rig.now_ms)
    assert face(rig.controller, rig.alone)[2] == "off"


def test_every_fault_of_the_firmware_fits_on_a_line():
    from ribwright_board.core.errors import FAULTS

    assert len(FAULTS) > 25
    assert [code for code in FAULTS if len(code) > LINE] == []


def test_pause_and_cooling_say_that_nothing_heats():
    rig = Rig().bending()
    rig.controller.pause()
    found = shown(rig)
    assert (found[1:3], found[4]) == (("paused", "off"), ("start: goes on", "with heat"))
    rig = Rig().bending()
    rig.blankets.temps_c[1] = 90.0
    rig.controller.runner.begin(5)
    found = shown(rig)
    assert found[1:3] == ("6/6 cool", "off")
    assert found[3][1] == ""


def test_outcome_is_shown_until_a_press():
    rig = Rig().bending()
    rig.hand("stop")
    assert shown(rig)[4:] == (("run 1 stopped", "stack may be hot"), True)


def test_fahrenheit_rig_shows_fahrenheit():
    rig = Rig(change=put("unit", "F"))
    rig.blankets.temps_c[0] = 100.0
    found = shown(rig)
    assert 208 <= int(found[0]) <= 212
    assert found[3][1] == "deg F"


def test_run_from_a_later_stage_says_so_before_the_press():
    rig = Rig()
    rig.service.lay_out(rig.alone.service.store.profile_keys()[-1], 3)
    assert shown(rig)[1] == "from 3"


def test_time_left_grows_with_what_was_added():
    rig = Rig().bending()
    while rig.controller.runner.index == 0:
        rig.hand()
    before = shown(rig)[3][2]
    carry_out(rig.controller, "extend", {"minutes": 2})
    assert (before, shown(rig)[3][2]) == ("4:58", "6:57")
