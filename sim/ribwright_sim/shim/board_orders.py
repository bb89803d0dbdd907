"""What a fault orders the board's program: Python, executed at its waking."""

import board_clock
from board_clock import Board


def obey():
    """Execute the order that has come; it knows the firmware's `loop` and `controller`, and what is here."""
    text, Board.order = Board.order, ""
    loop = Board.loop
    names = {"loop": loop, "hang": hang, "fail": fail, "block": block}
    if loop is not None:
        names["controller"] = loop.controller
    exec(text, names)


def hang():
    """Stand still with the outputs as they are, until the watchdog bites."""
    while True:
        block(1000)


def block(ms):
    """Be busy for that many milliseconds, as a step that never yields is."""
    for _ in range(ms):
        board_clock.spend(1000)
        if Board.now_us - Board.mark_us > board_clock.MIDWAY_US:
            board_clock.exchange(board_clock.MIDWAY)


def fail():
    """Raise what no part of the firmware expects."""
    raise ValueError("an injected fault")
