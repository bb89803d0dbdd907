"""Records that wait for the flash: whole ones, in order, in one piece of memory for good."""

from ribwright_board.core.pending import Pending


def test_what_waits_comes_out_once_and_in_order():
    pending = Pending(12)
    pending.keep(bytearray(b"abcd"))
    pending.keep(bytearray(b"efgh"))
    assert bytes(pending.take()) == b"abcdefgh"
    assert len(pending.take()) == 0


def test_record_that_does_not_fit_is_left_out_whole():
    pending = Pending(10)
    for record in (b"abcd", b"efgh", b"ijkl", b"mn"):
        pending.keep(bytearray(record))
    assert bytes(pending.take()) == b"abcdefghmn"


def test_memory_stays_the_same_however_much_passes_through():
    pending = Pending(8)
    first = pending.take()
    for number in range(100):
        pending.keep(bytearray((number, number)))
        if number % 3 == 2:
            three = (number - 2, number - 2, number - 1, number - 1, number, number)
            assert bytes(pending.take()) == bytes(three)
    pending.keep(bytearray(b"last"))
    pending.clear()
    assert len(pending.take()) == 0
    assert len(first) == 0
