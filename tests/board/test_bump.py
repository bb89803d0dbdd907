"""What the maker's signal that the strip meets the form does to a zone's heat."""

from board.samples import near
from board.test_drive import Bench
from ribwright_board.core.gains import DEFAULT_GAINS
from ribwright_board.core.zone import BUMP_DUTY, BUMP_FADE_K, BUMP_S, ZoneLoop


def settled():
    """A loop that holds 150 C."""
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    loop.aim(150.0)
    for _ in range(9):
        loop.add(150.0)
        loop.window()
    return loop


def test_form_signal_adds_heat_at_once_that_fades():
    loop = settled()
    quiet = settled()
    loop.meet_form()
    more = []
    for _ in range(90):
        for one in (loop, quiet):
            one.add(150.0)
        more.append(loop.window() - quiet.window())
    assert near(more[0], BUMP_DUTY, 1e-6)
    assert more[45] < BUMP_DUTY * 0.4
    assert near(more[45], BUMP_DUTY * (1.0 - 1.0 / BUMP_S) ** 45, 1e-5)
    assert more[89] < BUMP_DUTY * 0.15


def test_form_signal_gives_nothing_to_a_zone_above_its_target():
    loop = settled()
    quiet = settled()
    loop.meet_form()
    for one in (loop, quiet):
        one.add(150.0 + BUMP_FADE_K)
    assert near(loop.window(), quiet.window(), 1e-9)


def test_form_signal_means_nothing_on_the_way_up_or_without_a_target():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    loop.meet_form()
    loop.aim(150.0)
    loop.meet_form()
    assert loop._bump == 0.0


def test_new_target_ends_the_bump():
    loop = settled()
    loop.meet_form()
    loop.aim(150.5)
    quiet = settled()
    quiet.aim(150.5)
    for one in (loop, quiet):
        one.add(150.0)
    assert near(loop.window(), quiet.window(), 1e-9)


def test_acknowledged_cue_heats_the_zones_it_names_and_no_other():
    bench = Bench(temp_c=150.0)
    for _ in range(4):
        bench.window([150.0, 150.0])
    quiet = list(bench.drive._duties)
    bench.drive.meet_form([1])
    bench.window([150.0, 150.0])
    told = list(bench.drive._duties)
    assert near(told[0], quiet[0], 1e-6)
    assert near(told[1], min(1.0, quiet[1] + BUMP_DUTY), 1e-6)
