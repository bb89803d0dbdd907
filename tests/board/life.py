"""The firmware's loop on a stand-in board, from power-on to the next reset."""

from board.samples import profile_mapping, rig_mapping, until
from board.stand_in import Board
from ribwright_board.app import Loop
from ribwright_board.core import wire
from ribwright_board.core.profile import parse as parse_profile


class Life:
    """One life of the firmware, from power-on to the next reset; the flash outlives it."""

    def __init__(self, store=None):
        self.board = Board(rig_mapping())
        if store is not None:
            self.board.store = store
        self.loop = Loop(self.board)
        self.controller = self.loop.controller

    def steps(self, ms):
        until_ms = self.board.clock.now_ms() + ms
        while self.board.clock.now_ms() < until_ms:
            self.loop.step()

    def heating(self):
        """A run under way, its number already marked on the flash."""
        self.steps(1000)
        self.controller.lay_out(parse_profile(profile_mapping(), self.controller.rig), 1)
        self.press("start")
        until(lambda: self.controller.mode != "proving", lambda: self.steps(500))
        assert self.controller.mode == "running"
        self.steps(1000)
        return self

    def press(self, button):
        self.board.panel.waiting.append(button)
        self.steps(200)

    def reset(self):
        """The next life, on the same flash."""
        return Life(self.board.store)

    def cold(self, ms):
        """So long without a press: nothing may heat, and nothing may ask the contactor to close."""
        for _ in range(ms // 100):
            self.steps(100)
            assert not any(zone.on for zone in self.board.zones)
        assert self.board.alive.count == 0
        assert [zone.on_ms for zone in self.board.zones] == [0, 0]

    def told(self):
        messages = [wire.decode(line) for line in self.board.link.lines]
        return [message.data["code"] for message in messages if message.verb == "event"]
