"""The last half minute of a reading."""

from ribwright_board.core.recent import SPAN, Recent


def filled(count, first=100):
    recent = Recent()
    for i in range(count):
        recent.add(float(first + i * i))
    return recent


def test_every_second_of_the_span_can_be_asked_for():
    for count in (1, 2, SPAN - 1, SPAN, SPAN + 1, 5 * SPAN + 3):
        recent = filled(count)
        last = count - 1
        for seconds in range(min(count, SPAN)):
            assert recent.ago_c(seconds) == 100.0 + (last - seconds) ** 2
            assert recent.rise_k(seconds) == last**2 - (last - seconds) ** 2


def test_adding_says_the_rise_over_the_second_before():
    recent = Recent()
    assert [recent.add(at_c) for at_c in (20.0, 21.5, 21.0)] == [0.0, 1.5, -0.5]
    for at_c in range(50):
        recent.add(float(at_c))
    assert recent.add(55.0) == 6.0


def test_break_forgets_what_was():
    recent = filled(50)
    recent.clear()
    assert recent.count == 0
    assert recent.add(500.0) == 0.0
    assert recent.count == 1
