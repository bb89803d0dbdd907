"""The list at the knob: what it offers, that each choice is what a computer would ask, how it ends."""

from board.panel_bench import Rig
from board.samples import profile_mapping
from ribwright_board.core.acts import MARKS
from ribwright_board.core.alone import Alone
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.faces import LINE, face
from ribwright_board.core.knob_list import (
    BACK_OFF,
    EXTEND,
    LEAVE,
    OPEN_MS,
    OTHERS,
    PAUSE,
    QUIET_MS,
    SAID_MS,
    KnobList,
    words,
)

MARKED = ["gave way", "stiff", "cracked", "steam", "steam eased"]
ALL = MARKED + ["1 min longer", "5 min longer", "back off", "pause", "leave list"]


class Listed(Rig):
    """A rig with a push switch in its knob; its profile may be changed."""

    def __init__(self, stages=None, **settings):
        super().__init__((), **settings)
        self.store_profile(dict(profile_mapping(), **({"stages": stages} if stages else {})))
        self.acts = self.alone.acts = KnobList(self.controller)
        self.told = []

    def hand(self, *pressed, turned=0, ticks=1, pushed=False):
        """As Rig's, with a push that ends in the first tick."""
        self.tick(*self.alone.take(pressed, turned, self.now_ms, pushed))
        self.told += self.controller.events
        self.controller.events = []
        for _ in range(ticks - 1):
            self.hand()

    def push(self):
        self.hand(pushed=True)
        return self

    def at(self, index, most=9000):
        """A run under way whose stage is this one."""
        if self.controller.mode == "idle":
            self.bending()
        for _ in range(most):
            if self.controller.runner.index == index:
                return self
            self.hand()
        raise AssertionError("stage %d never came" % index)

    def entries(self):
        """What the list offers, from where it stands."""
        assert self.acts.open
        found = []
        for _ in range(len(self.acts._there)):
            chosen, following = self.acts.low()
            assert chosen[:2] == "> "
            assert following[:2] == "  "
            found.append(chosen[2:])
            self.hand(turned=1)
        self.acts.close(self.now_ms)
        return found

    def choose(self, word):
        """Open, turn to a word, push."""
        self.push()
        for _ in range(len(self.acts._there)):
            if self.acts.low()[0] == "> " + word:
                return self.push()
            self.hand(turned=1)
        raise AssertionError(word + " is not in the list")

    def events(self, *names):
        """What was told of these since the last asking, as (name, a, b, text)."""
        found = [(event[1],) + event[3:] for event in self.told if event[1] in names]
        self.told = []
        return found

    def low(self):
        return face(self.controller, self.alone)[4]


def test_every_line_of_the_list_fits_and_marks_have_the_logs_names():
    assert [words(entry) for entry in range(LEAVE + 1)] == ALL
    assert [word for word in ALL if len("> " + word) > LINE] == []
    assert (len(MARKS), words(EXTEND), words(BACK_OFF), words(PAUSE)) == (5, ALL[5], "back off", "pause")
    assert OTHERS[-1] == words(LEAVE)


def test_each_stage_offers_only_what_it_can_do():
    stages = profile_mapping()["stages"]
    stages[4]["longest_min"] = 4
    rig = Listed(stages).at(0)
    assert rig.push().entries() == MARKED + ["back off", "pause", "leave list"]
    rig.at(1)
    assert rig.push().entries() == ALL
    rig.controller.runner.begin(4)
    rig.hand(ticks=2)
    # A set stage's longest time may be taken again once; back off leads nowhere from it.
    assert rig.push().entries() == MARKED + ["1 min longer", "pause", "leave list"]
    rig.controller.runner.begin(5)
    rig.hand(ticks=2)
    assert rig.push().entries() == MARKED + ["pause", "leave list"]
    rig.controller.pause()
    rig.hand(ticks=2)
    assert rig.push().entries() == MARKED + ["leave list"]


def test_what_is_used_up_is_left_out():
    rig = Listed().at(1)
    # Five minutes are a stage's longest time, and so all it takes.
    rig.choose("5 min longer")
    assert "1 min longer" not in rig.push().entries()


def test_every_mark_goes_into_the_log_under_its_own_name():
    rig = Listed().at(1)
    for place in range(len(MARKS)):
        rig.choose(MARKED[place])
        assert rig.low() == (MARKED[place], "noted")
        assert rig.events("mark") == [("mark", place + 1, 0, MARKS[place])]
    rig.controller.pause()
    rig.hand()
    rig.choose("cracked")
    assert rig.events("mark") == [("mark", 3, 0, "cracked")]
    assert rig.controller.mode == "paused"


def test_extend_back_off_and_pause_do_what_a_computer_may_ask():
    rig = Listed().at(1)
    rig.choose("1 min longer")
    assert rig.controller.runner.by_hand.more_ms() == 60000
    (told,) = rig.events("extend")
    assert told[1] == 1
    assert rig.low() == ("1 min longer", "done")
    rig.choose("back off")
    # The next set stage that is no hotter.
    assert rig.events("back_off", "stage") == [("back_off", 2, 5, ""), ("stage", 5, 1200, "set 5")]
    assert rig.controller.runner.index == 4
    assert rig.low() == ("back off", "done")
    rig.choose("pause")
    assert (rig.controller.mode, rig.controller.outputs(rig.now_ms)) == ("paused", [False, False])
    assert [event[0] for event in rig.events("pause")] == ["pause"]
    # What goes on from here is what the display asks.
    assert rig.low() == ("start: goes on", "with heat")


def test_refusal_is_told_in_few_words_and_changes_nothing():
    rig = Listed().at(1)
    for _ in range(10):
        rig.ok("mark", {"what": "steam"})
    rig.choose("stiff")
    assert (rig.low(), rig.acts.heard) == (("stiff", "no: wait a bit"), "refused")
    assert [told[3] for told in rig.events("mark")] == ["steam"] * 10
    rig.hand(ticks=20)
    rig.choose("stiff")
    assert (rig.low(), rig.acts.heard) == (("stiff", "noted"), "did")


def test_refusals_of_every_kind_fit_on_a_line():
    rig = Listed().at(1)
    for code in ("not_running", "stage_kind", "bound", "mark", "too_soon"):

        def refuse(_entry, code=code):
            raise RefusedError(code, "in a test")

        rig.acts._ask = refuse
        rig.choose("stiff")
        assert rig.low()[1][:4] == "no: "
        assert len(rig.low()[1]) <= LINE, code


def test_target_stays_while_the_list_is_open_and_moves_again_when_it_is_closed():
    rig = Listed().at(1)
    rig.hand(turned=2)
    assert rig.controller.runner.by_hand.moved_k() == 2.0
    rig.push()
    rig.hand(turned=3)
    assert (rig.controller.runner.by_hand.moved_k(), rig.low()[0]) == (2.0, "> steam")
    rig.hand(turned=-4)
    assert rig.low() == ("> leave list", "  gave way")
    rig.push()
    # A hand that still turns does not mean the target.
    rig.hand(turned=2, ticks=QUIET_MS // 100)
    assert (rig.acts.open, rig.controller.runner.by_hand.moved_k()) == (False, 2.0)
    rig.hand(turned=1)
    assert rig.controller.runner.by_hand.moved_k() == 3.0


def test_list_closes_by_itself_after_the_last_touch():
    rig = Listed().at(1).push()
    rig.hand(ticks=OPEN_MS // 100 - 2)
    assert rig.acts.open
    rig.hand(turned=1, ticks=OPEN_MS // 100 - 1)
    assert rig.acts.open
    rig.hand(ticks=2)
    assert not rig.acts.open
    assert rig.events("mark", "extend", "back_off", "pause") == []


def test_buttons_act_at_once_and_close_the_list():
    for button, mode in (("stop", "idle"), ("next", "running"), ("start", "running")):
        rig = Listed().at(1).push()
        cue = rig.controller.runner.cue()
        # Even a push that ends in the same tick asks for nothing.
        rig.hand(button, pushed=True)
        assert (rig.acts.open, rig.controller.mode) == (False, mode), button
        assert (rig.controller.runner.cue() != cue) == (button == "next")
        assert rig.events("mark") == []
    # Nor is it opened beside a press.
    rig = Listed().at(1)
    rig.hand("next", pushed=True)
    assert not rig.acts.open
    # From a pause start leads to the proof, as ever.
    rig = Listed().at(1)
    rig.controller.pause()
    rig.hand(ticks=20)
    rig.push()
    rig.hand("start")
    assert (rig.acts.open, rig.controller.mode) == (False, "proving")


def test_another_stage_mode_question_or_a_trip_closes_it_and_the_push_is_lost():
    def stage(rig):
        rig.controller.runner.begin(3)

    def mode(rig):
        rig.controller.pause()

    def cue(rig):
        rig.controller.next()

    def asked(rig):
        rig.controller.course.attend.asked = True

    def trip(rig):
        rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", rig.now_ms)
        rig.tick()

    def dark(rig):
        rig.alone.shows = False

    for change in (stage, mode, cue, asked, trip, dark):
        # In a ramp nothing is asked, so that stage or mode is all that changes.
        rig = Listed().at(0 if change in (stage, trip) else 1).push()
        rig.hand()
        change(rig)
        # After the cue the rig waits for next as before, so that alone is no change.
        rig.hand(pushed=change not in (cue, asked))
        assert (rig.acts.open, rig.acts.said) == (change is cue, ()), change
        assert rig.events("mark") == []
        assert face(rig.controller, rig.alone)[4] != ("gave way", "noted")


def test_question_of_presence_stands_before_the_list_and_a_touch_is_its_answer():
    rig = Listed().at(1)
    for touch in ({"pushed": True}, {"turned": 1}):
        rig.push()
        rig.controller.course.attend.asked = True
        assert rig.low() == ("are you there?", "press a button")
        rig.hand(**touch)
        assert [event[0] for event in rig.events("presence_given", "mark", "nudge")] == ["presence_given"]
        assert (rig.controller.course.attend.asked, rig.acts.open) == (False, False)
        rig.hand(ticks=20)
    # So is a push with the list closed, which then opens nothing.
    rig.controller.course.attend.asked = True
    rig.push()
    assert (rig.acts.open, [told[0] for told in rig.events("presence_given")]) == (False, ["presence_given"])
    # Nor does the rest of a turn answer less because the list has just closed.
    rig.push().push()
    rig.controller.course.attend.asked = True
    rig.hand(turned=1)
    assert not rig.controller.course.attend.asked


def test_a_touch_is_presence_as_a_turn_of_the_knob_is():
    rig = Listed().at(1)
    attend = rig.controller.course.attend
    for touch in ({"pushed": True}, {"turned": 1}, {"pushed": True}):
        attend._alone_ms = 500000
        rig.hand(**touch)
        assert attend._alone_ms < 1000, touch


def test_without_a_display_that_shows_there_is_no_list():
    rig = Listed().at(1)
    rig.alone.shows = False
    rig.push()
    rig.hand(turned=2)
    assert (rig.acts.open, rig.controller.runner.by_hand.moved_k()) == (False, 2.0)


def test_push_outside_a_run_opens_and_heats_nothing():
    rig = Listed()
    rig.hand(ticks=3)
    rig.push().push()
    assert (rig.controller.mode, rig.acts.open) == ("idle", False)
    rig.laid_out()
    rig.push().push()
    assert (rig.controller.mode, rig.acts.open) == ("ready", False)
    rig.hand("start", ticks=3)
    rig.push().push()
    assert (rig.controller.mode, rig.acts.open) == ("proving", False)
    rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", rig.now_ms)
    rig.hand()
    rig.push().push()
    assert (rig.controller.mode, rig.acts.open) == ("tripped", False)
    assert rig.events("mark", "acknowledged", "press")[1:] == []


def test_push_at_rest_takes_the_last_runs_word_away_as_any_touch_does():
    rig = Listed().bending()
    rig.hand("stop", ticks=2)
    assert rig.alone.said[0][:4] == "run "
    rig.push()
    assert (rig.alone.said, rig.acts.open) == ((), False)
    rig.push()
    assert not rig.acts.open


def test_word_of_what_came_of_it_goes_after_a_while_or_at_a_press():
    rig = Listed().at(1)
    shown = rig.low()
    rig.choose("steam")
    assert rig.low() == ("steam", "noted")
    rig.hand(ticks=SAID_MS // 100 + 1)
    assert rig.low() == shown
    rig.choose("steam")
    rig.hand("next", ticks=11)
    assert rig.low() == ("press next when", "it is bent")


def test_figure_target_time_and_heat_stay_while_the_list_is_open():
    rig = Listed().at(1)
    before = face(rig.controller, rig.alone)
    rig.push()
    opened = face(rig.controller, rig.alone)
    assert opened[:3] == before[:3]
    assert opened[3][:2] == before[3][:2]
    assert (opened[4], opened[5]) == (("> gave way", "  stiff"), False)


def test_memory_that_runs_out_costs_the_list_alone():
    rig = Listed().at(1)
    tidied = []
    rig.service.tidy = lambda: tidied.append(1)

    def full(*_):
        raise MemoryError

    rig.acts._possible = full
    rig.push()
    assert (rig.acts.open, rig.controller.mode, tidied) == (False, "running", [1])


def test_closed_list_makes_nothing_on_the_heap():
    import gc

    if not hasattr(gc, "mem_alloc"):
        return
    rig = Listed().at(1)
    take = rig.acts.take
    take((), 0, False, True, 400000)
    gc.collect()
    before = gc.mem_alloc()
    for _ in range(100):
        take((), 0, False, True, 400000)
    after = gc.mem_alloc()
    # The loop itself makes a range once.
    assert after - before < 200, after - before


def test_rig_without_a_switch_has_no_list():
    assert Alone(Rig().service).acts is None
