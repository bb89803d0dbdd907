"""What a fault orders the board's program: Python, executed at its waking."""

import board_clock
from board_clock import Board

# Memory kept for the compiler of orders: a heap in use for long may have no piece left for it, and what a
# fault orders is none of the firmware's needs.
RESERVE_BYTES = 4096
_reserve = [bytearray(RESERVE_BYTES)]


def reserve():
    """Keep that memory again; without it where there is no such piece."""
    try:
        _reserve[0] = bytearray(RESERVE_BYTES)
    except MemoryError:
        _reserve[0] = b""


def obey():
    """Execute the order that has come; it knows the firmware's `loop` and `controller`, and what is here."""
    text, Board.order = Board.order, ""
    loop = Board.loop
    names = {"loop": loop, "hang": hang, "fail": fail, "block": block, "turn": turn, "display": display}
    if loop is not None:
        names["controller"] = loop.controller
    _reserve[0] = b""
    try:
        exec(text, names)
    finally:
        reserve()


def hang():
    """Stand still with the outputs as they are, until the watchdog bites."""
    while True:
        block(1000)


def block(ms):
    """Be busy for so many ms, as a step that never yields is."""
    for _ in range(ms):
        board_clock.spend(1000)
        if Board.now_us - Board.mark_us > board_clock.MIDWAY_US:
            board_clock.exchange(board_clock.MIDWAY)


def turn(a, b, detents):
    """Turn the knob at pins a and b so many detents, below 0 the other way round."""
    import board_panel

    board_panel.turn(a, b, detents)


def display(how):
    """From now on the display is as how says: "answers", "absent", or "holds" its bus down."""
    Board.display = how


def fail():
    """Raise what no part of the firmware expects."""
    raise ValueError("an injected fault")
