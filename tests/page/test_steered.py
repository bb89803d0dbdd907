"""A whole bend in real MicroPython, steered from the page in a browser with everything it can ask."""

import re

import pytest

from page.support import laid_out, named_profile, served, settled, text
from ribwright_host.link import Link, get_run, hello
from ribwright_host.logbook import read_log
from ribwright_host.page.acts import ACTS, MARK_BUTTONS
from ribwright_host.transport import open_port

SPEED = 30.0


@pytest.fixture
def rig(tmp_path, micropython_cmd):
    assert micropython_cmd
    profile = named_profile()
    # A set whose longest time leaves room for minutes more.
    profile["stages"][4]["minutes"] = 10
    settings = {"speed": SPEED, "idle_speed": 20.0, "interpreter": "micropython"}
    with laid_out(tmp_path, profile, **settings) as found:
        yield found


class Hand:
    """A finger on the page, and the rig's own panel beside it."""

    def __init__(self, page, rig):
        self.page = page
        self.rig = rig
        self.asked = []

    def touch(self, verb, event, said, *, button=None):
        """Touch a button; the board has to confirm it, and to tell the event that comes of it."""
        if text(self.page, "heat") != "Relays off":
            # Somebody is there: a press of start tells so, and does nothing else while a run is on.
            self.rig.rig.press("start")
        (button or self.page.locator("#stop" if verb == "stop" else f"button[data-verb={verb}]")).click()
        # The event is this touch's alone; before it, the line may still be that of the touch before.
        settled(self.page, "recent", event)
        words = re.compile(f"^{said}: confirmed by the board, {ACTS[verb].done}")
        self.page.locator("#said.confirmed", has_text=words).wait_for(timeout=20_000)
        self.asked.append(verb)

    def labelled(self, label):
        """A button by its words."""
        return self.page.get_by_role("button", name=label, exact=True)


def test_every_act_of_the_page_is_confirmed_by_the_board_and_stands_in_the_log(rig, open_page):
    assert rig.rig.interpreter.startswith("MicroPython")
    with served(rig.cable.url) as desk:
        page = open_page(desk.url)
        hand = Hand(page, rig)
        settled(page, "wish", "Press the start button AT THE RIG")
        # Nothing but stop means anything yet: each says so, and none reaches the board.
        for verb in (verb for verb, act in ACTS.items() if act.steers):
            assert page.locator(f"button[data-verb={verb}]").first.get_attribute("aria-disabled") == "true"
        rig.rig.press("start")
        settled(page, "wish", "waist home", 30)
        rig.rig.form(0)
        for what, words in MARK_BUTTONS.items():
            hand.touch("mark", f"noted what the wood did \\({words}\\)", "Mark", button=hand.labelled(words))
            assert what.replace("_", " ") == words
        hand.touch("nudge", r"122 C, \+2 K", "Target", button=hand.labelled("Target 2 K higher"))
        settled(page, "measured", "target 122\u00b0")
        hand.touch("nudge", r"120 C, \+0 K", "Target", button=hand.labelled("Target 2 K lower"))
        settled(page, "measured", "target 120\u00b0")
        hand.touch("extend", "1 min", "Longer", button=hand.labelled("1 min longer"))
        hand.touch("extend", "5 min", "Longer", button=hand.labelled("5 min longer"))
        hand.touch("next", "acknowledged the cue", "Next")
        hand.touch("pause", "the run is paused, every relay off", "Pause")
        settled(page, "heat", "Relays off")
        page.wait_for_timeout(500)
        # Only the rig's own button goes on with it.
        assert page.locator("button[data-verb=next]").get_attribute("aria-disabled") == "true"
        rig.rig.press("start")
        settled(page, "recent", "goes on after a press at the rig")
        settled(page, "wish", "Press next when the wood is where you want it")
        page.wait_for_timeout(1000)
        hand.touch("next", "the maker went on", "Next")
        settled(page, "stage-title", "warm it all")
        hand.touch("back_off", "backed off to set or cool", "Back off")
        settled(page, "stage-title", "set")
        hand.touch("stop", "the run was stopped, every relay off", "STOP")
        settled(page, "stage-title", "at rest, relays off")
        assert text(page, "loud") == ""
    assert set(hand.asked) == set(ACTS)
    log = read_back(rig)
    assert log.problems == []
    kinds = {"mark", "nudge", "extend", "cue_done", "next", "pause", "resume", "back_off", "stop"}
    told = [(one.name, one.stage + 1, one.a) for one in log.events if one.name in kinds]
    assert told == [
        *(("mark", 2, place) for place in range(1, len(MARK_BUTTONS) + 1)),
        ("nudge", 2, 1220),
        ("nudge", 2, 1200),
        ("extend", 2, 1),
        ("extend", 2, 5),
        ("cue_done", 2, 1),
        ("pause", 2, 0),
        ("resume", 2, 0),
        # Told with the stage that follows; the figure is the one that was left.
        ("next", 3, 2),
        ("back_off", 5, 3),
        ("stop", 5, 0),
    ]
    # What was asked was also done: the target moved, and no relay came on in the pause.
    held = [row.zones[0].target_c for row in log.rows if row.stage == 1 and row.mode == "running"]
    assert {120.0, 122.0} <= set(held)
    paused = [zone for row in log.rows if row.mode == "paused" for zone in row.zones]
    # The first rows of it may tell of the second that was on as it was asked.
    assert len(paused) > 8
    assert all(zone.relay_on_ms == 0 for zone in paused[4:])


def read_back(rig):
    """The run as the board's log holds it, read once the page has let go of the port."""
    link = Link(open_port(rig.cable.url))
    try:
        hello(link)
        return read_log(get_run(link, int(link.ask("status")["run"])))
    finally:
        link.close()
