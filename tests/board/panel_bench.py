"""A service bench whose presses go through what chooses at rest, as the board's panel hands them on."""

import json

from board.samples import profile_mapping
from board.service_bench import Bench
from ribwright_board.core.alone import Alone

NAMES = ("sapele baritone, bass", "sapele baritone, treble", "trial strip")


class Rig(Bench):
    """A rig at rest with some profiles on it and no computer.

    names: of the stored profiles, in the order of their arrival.
    """

    def __init__(self, names=NAMES, change=None, shows=True, sounds=False):
        super().__init__(change)
        for name in names:
            self.store_profile(dict(profile_mapping(), name=name))
        self.alone = Alone(self.service)
        self.alone.shows = shows
        self.alone.sounds = sounds

    def store_profile(self, values):
        body = json.dumps(values).encode()
        self.store.put_profile(self.store.sha256(body)[:12], body)

    def hand(self, *pressed, turned=0, ticks=1):
        """One tick with presses and detents, and further ones without."""
        mode = self.controller.mode
        self.tick(*self.alone.take(pressed, turned, self.now_ms))
        for _ in range(ticks - 1):
            self.hand()
        return mode != self.controller.mode

    def laid_out(self):
        """A run laid out by hand, and time enough since then."""
        self.hand(ticks=5)
        self.hand("start", ticks=20)
        assert self.controller.mode == "ready"
        return self

    def bending(self):
        """A run under way."""
        self.laid_out()
        self.hand("start")
        while self.controller.mode == "proving":
            self.hand()
        assert self.controller.mode == "running"
        return self
