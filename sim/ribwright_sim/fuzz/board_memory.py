"""What a board's service costs in memory while frames pour into it."""

from __future__ import annotations

import gc
import tracemalloc

from .board_side import Desk
from .board_state import take_up, warm
from .board_talk import BoardTalk
from .frames import Frames
from .tally import Tally

SETTLE = 2_000


def growth(seed: str, count: int) -> tuple[int, int]:
    """Bytes that the allocator holds more after so many frames into one board, and the most on the way.

    seed: of the frames. count: how many, after SETTLE others that fill what is filled once.
    """
    desk = Desk(take_up(warm("idle")), Tally())
    settle, frames = Frames(f"settle {seed}", BoardTalk()), Frames(seed, BoardTalk())
    for _ in range(SETTLE):
        desk.feed(settle.draw()[1])
        desk.world.controller.events = []
    # Drawn before, so that only what the board keeps is counted.
    drawn = [frames.draw()[1] for _ in range(count)]
    gc.collect()
    tracemalloc.start()
    try:
        before = tracemalloc.get_traced_memory()[0]
        tracemalloc.reset_peak()
        service = desk.world.service
        for frame in drawn:
            for piece in frame:
                service.feed(piece)
            desk.world.controller.events.clear()
        peak = tracemalloc.get_traced_memory()[1] - before
        gc.collect()
        return tracemalloc.get_traced_memory()[0] - before, peak
    finally:
        tracemalloc.stop()
