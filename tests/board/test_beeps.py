"""What the buzzer sounds, tick by tick."""

from board.panel_bench import Rig
from ribwright_board.core.beeps import MOST_TIMES, SOUNDS, Beeps


class Heard:
    """A rig with a buzzer, and what was heard of it as lengths of sound, in ticks."""

    def __init__(self, blind=False, **settings):
        self.rig = Rig(**settings)
        self.beeps = Beeps(blind)

    def ticks(self, count, *pressed):
        """So many ticks, the presses in the first of them; lengths of the sounds in them."""
        levels = []
        for tick in range(count):
            self.rig.hand(*(pressed if tick == 0 else ()))
            levels.append(self.beeps.tick(self.rig.controller))
        runs, length = [], 0
        for level in levels + [False]:
            if level:
                length += 1
            elif length:
                runs.append(length)
                length = 0
        return runs

    def until(self, mode):
        while self.rig.controller.mode != mode:
            self.ticks(1)
        return self


def ons(name):
    return [SOUNDS[name][at] for at in range(0, len(SOUNDS[name]), 2)]


def test_every_sound_is_told_from_every_other_by_its_lengths():
    lengths = [bytes(ons(name)) for name in SOUNDS]
    assert len(set(lengths)) == len(SOUNDS)
    assert [name for name in SOUNDS if len(SOUNDS[name]) % 2 or 0 in SOUNDS[name]] == []


def test_nothing_sounds_at_rest():
    heard = Heard()
    assert heard.ticks(300) == []
    assert heard.ticks(30, "start") == []


def test_rig_without_a_display_sounds_that_a_run_is_laid_out():
    heard = Heard(blind=True, shows=False, sounds=True)
    heard.ticks(20)
    assert heard.ticks(30, "start") == ons("laid_out")


def test_waiting_cue_sounds_again_every_ten_seconds_until_the_press():
    heard = Heard()
    heard.ticks(5)
    heard.ticks(20, "start")
    heard.ticks(1, "start")
    heard.until("running")
    while heard.rig.controller.runner.index == 0:
        found = heard.ticks(1)
    assert found == [1]
    assert heard.ticks(220) == [1, 2] + ons("waiting") * 2
    heard.rig.controller.runner.begin(3)
    assert heard.ticks(150) == ons("stage")


def test_stage_that_begins_and_run_that_is_done_or_stopped_sound_once():
    heard = Heard()
    heard.ticks(5)
    heard.ticks(20, "start")
    heard.ticks(1, "start")
    heard.until("running")
    heard.ticks(20)
    heard.rig.controller.runner.begin(2)
    assert heard.ticks(40) == ons("stage")
    assert heard.ticks(40, "stop") == ons("ended")
    done = Heard()
    done.rig.bending()
    done.ticks(3)
    done.rig.controller.runner.begin(6)
    assert done.ticks(40) == ons("done")


def test_trip_sounds_over_everything_until_it_is_acknowledged_or_half_the_night_is_over():
    heard = Heard()
    heard.rig.bending()
    heard.ticks(3)
    heard.rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", heard.rig.now_ms)
    assert heard.ticks(42) == ons("trip")
    assert heard.ticks(1, "start") == []
    assert heard.ticks(60) == []
    heard.rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", heard.rig.now_ms)
    total = sum(SOUNDS["trip"]) * MOST_TIMES["trip"]
    assert len(heard.ticks(total + 500)) == 3 * MOST_TIMES["trip"]


def test_question_whether_anybody_is_there_sounds_until_it_is_answered():
    heard = Heard()
    heard.rig.bending()
    heard.ticks(3)
    heard.rig.controller.course.attend.asked = True
    assert heard.ticks(80) == ons("presence") * 2
    assert heard.ticks(40, "next") == []


def test_choice_at_the_knob_sounds_and_what_reminds_goes_on_from_its_pause():
    heard = Heard()
    heard.rig.bending()
    heard.ticks(3)
    heard.beeps.tell("did")
    assert heard.ticks(20) == ons("did")
    heard.beeps.tell("refused")
    assert heard.ticks(20) == ons("refused")
    while heard.rig.controller.waiting() != "next":
        heard.ticks(1)
    heard.ticks(30)
    heard.beeps.tell("did")
    # Ten seconds less the reminder itself until it is heard again.
    pause = SOUNDS["waiting"][-1]
    assert heard.ticks(pause) == ons("did")
    assert heard.ticks(pause) == ons("waiting")


def test_choice_at_the_knob_sounds_into_nothing_that_warns():
    heard = Heard()
    heard.rig.bending()
    heard.ticks(3)
    heard.rig.controller.course.attend.asked = True
    heard.ticks(1)
    heard.beeps.tell("did")
    assert heard.ticks(79) == [3] + ons("presence")[1:] + ons("presence")
    heard.rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", heard.rig.now_ms)
    heard.ticks(1)
    heard.beeps.tell("refused")
    assert heard.ticks(27) == [7] + ons("trip")[1:]
