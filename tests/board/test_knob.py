"""The knob: whole detents from edges, at any speed, with contacts that bounce or stick."""

from board.samples import Draws
from board.wires import Pin
from ribwright_board.drivers.knob import STEPS, Knob

# The levels of both contacts through one detent, up; down is the other way round.
CYCLE = ((0, 1), (0, 0), (1, 0), (1, 1))
BACK = ((1, 0), (0, 0), (0, 1), (1, 1))


def made():
    a, b = Pin(6), Pin(7)
    return Knob(a, b), a, b


def turn(a, b, detents):
    for _ in range(abs(detents)):
        for level_a, level_b in CYCLE if detents > 0 else BACK:
            a.drive(level_a)
            b.drive(level_b)


def test_a_detent_is_one_cycle_of_both_contacts():
    knob, a, b = made()
    assert knob.detents() == 0
    turn(a, b, 1)
    assert knob.detents() == 1
    turn(a, b, -1)
    assert knob.detents() == -1
    assert knob.detents() == 0


def test_a_whole_quick_turn_between_two_ticks_is_counted():
    # 24 detents in less than a tick: 96 edges.
    knob, a, b = made()
    turn(a, b, 24)
    assert knob.detents() == 24
    turn(a, b, -48)
    assert knob.detents() == -48


def test_half_a_detent_waits_for_its_other_half():
    knob, a, b = made()
    for level_a, level_b in CYCLE[:2]:
        a.drive(level_a)
        b.drive(level_b)
    assert knob.detents() == 0
    for level_a, level_b in CYCLE[2:]:
        a.drive(level_a)
        b.drive(level_b)
    assert knob.detents() == 1


def test_contact_that_bounces_counts_nothing_twice():
    knob, a, b = made()
    draws = Draws(5)
    total = 0
    for _ in range(300):
        for level_a, level_b in CYCLE:
            for pin, level in ((a, level_a), (b, level_b)):
                if level != pin.level:
                    for _ in range(draws.below(6)):
                        pin.drive(1 - pin.level)
                    pin.drive(level)
        total += knob.detents()
    assert total == 300


def test_levels_that_cannot_follow_each_other_are_no_step():
    # Both contacts changed: an edge was missed, and which way it went is not known.
    assert [STEPS[old << 2 | new] for old, new in ((0, 3), (3, 0), (1, 2), (2, 1))] == [0, 0, 0, 0]
    assert [STEPS[old << 2 | old] for old in range(4)] == [0, 0, 0, 0]
    assert [STEPS[old << 2 | new] for old, new in ((3, 1), (1, 0), (0, 2), (2, 3))] == [1, 1, 1, 1]
    assert [STEPS[new << 2 | old] for old, new in ((3, 1), (1, 0), (0, 2), (2, 3))] == [-1, -1, -1, -1]


def test_edges_that_are_lost_cost_a_detent_and_shift_no_later_one():
    knob, a, b = made()
    draws = Draws(9)
    lost = 0
    for _ in range(200):
        for level_a, level_b in CYCLE:
            for pin, level in ((a, level_a), (b, level_b)):
                if level != pin.level and draws.below(20) == 0:
                    pin.level = level
                    lost += 1
                else:
                    pin.drive(level)
        knob.detents()
    assert lost > 20
    knob.detents()
    turn(a, b, 3)
    assert knob.detents() in (3, 4)
    turn(a, b, 3)
    assert knob.detents() == 3


def test_quarters_that_lost_edges_leave_behind_are_gone_at_rest():
    knob, a, b = made()
    a.drive(0)
    b.drive(0)
    # One edge back is lost, the other one then shows both changed.
    a.level = 1
    b.drive(1)
    knob.detents()
    turn(a, b, -1)
    assert knob.detents() == -1
    turn(a, b, 1)
    assert knob.detents() == 1


def test_glitch_on_one_wire_is_nothing():
    knob, a, _ = made()
    for _ in range(500):
        a.drive(0)
        a.drive(1)
    assert knob.detents() == 0


def test_one_contact_that_sticks_never_turns():
    knob, a, b = made()
    b.level = 0
    for _ in range(100):
        a.drive(0)
        a.drive(1)
        assert -1 <= knob.detents() <= 1
    assert knob.detents() == 0


def test_handler_interrupts_anything_where_the_port_offers_it():
    _, a, b = made()
    assert (a.hard, b.hard) == (True, True)
    Pin.hard_offered = False
    try:
        knob, a, b = made()
    finally:
        Pin.hard_offered = True
    assert (a.hard, b.hard) == (False, False)
    turn(a, b, 2)
    assert knob.detents() == 2


def test_handler_makes_nothing_on_the_heap():
    import gc

    if not hasattr(gc, "mem_alloc"):
        return
    knob, a, b = made()
    turn(a, b, 1)
    # Kept outside, as the board's scheduler keeps it.
    edge, cycle = knob._edge, CYCLE
    edge(a)
    gc.collect()
    before = gc.mem_alloc()
    for _ in range(100):
        a.level = 0
        edge(a)
        a.level = 1
        edge(a)
    after = gc.mem_alloc()
    # The loop itself makes a range once; an edge would show a hundred times.
    assert after - before < 200, after - before
    assert cycle
