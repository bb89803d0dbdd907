"""Two whole runs of the firmware's loop on a stand-in rig, as lines of whole numbers.

The same file runs in CPython and on the board's interpreter; tests/loop compares the lines.
"""

import binascii
import json

from board.samples import piece_mapping, rig_mapping
from board.stand_in import CAPACITY_J_PER_K, Board
from ribwright_board.app import Loop
from ribwright_board.core import record, wire

# Cold wood pressed on takes this much heat at once.
PRESS_ON_J = 1500.0

FIRST = [
    {"kind": "ramp", "zones": ["waist"], "target": 150},
    {
        "kind": "hold",
        "zones": ["waist"],
        "target": 150,
        "until": "maker",
        "longest_min": 5,
        "cues": ["press the waist on"],
    },
    {"kind": "ramp", "zones": ["waist", "full"], "target": 150, "rate_per_min": 30},
    {"kind": "hold", "zones": ["waist", "full"], "target": 150, "minutes": 2},
    {"kind": "set", "zones": ["waist", "full"], "target": 120, "minutes": 1},
    {"kind": "cool", "below": 70},
]
# A touch-up on the warm form, in Fahrenheit: 284 F = 140 C, 158 F = 70 C.
SECOND = [
    {"kind": "ramp", "zones": ["waist", "full"], "target": 284},
    {"kind": "hold", "zones": ["waist", "full"], "target": 284, "minutes": 1},
    {"kind": "cool", "below": 158},
]


class Bench:
    """Loop, board, host and maker together."""

    def __init__(self):
        rig = rig_mapping()
        # 2 A each, 3 A allowed: the zones have to take turns.
        rig["mains"]["branch_limit_a"] = 3
        self.board = Board(rig)
        self.loop = Loop(self.board)
        self.seq = 0
        self.tops_c = {}

    def ask(self, verb, data):
        """One ask over the link and its answer, while the loop goes on."""
        self.seq += 1
        self.board.link.asks.extend(wire.encode("ask", self.seq, verb, data))
        while True:
            self.step()
            for line in self.board.link.lines:
                message = wire.decode(line)
                if message.kind == "ans" and message.seq == self.seq:
                    self.board.link.lines = []
                    assert message.verb == "ok", message.data
                    return message.data

    def step(self):
        self.loop.step()
        controller = self.loop.controller
        if controller.mode == "running":
            for zone in range(len(self.board.zones)):
                key = (controller.run, controller.runner.index, zone)
                self.tops_c[key] = max(self.tops_c.get(key, 0.0), self.board.zones[zone].body_c)

    def wait(self, seconds):
        until_ms = self.board.clock.now_ms() + int(seconds * 1000)
        while self.board.clock.now_ms() < until_ms:
            self.step()

    def upload(self, unit, stages):
        body = json.dumps(
            {"schema": 1, "name": "baritone sides", "unit": unit, "piece": piece_mapping(), "stages": stages}
        ).encode()
        self.ask("put_open", {"kind": "profile", "size": len(body), "sha": self.board.store.sha256(body)})
        for at in range(0, len(body), wire.PIECE_BYTES):
            piece = binascii.b2a_base64(body[at : at + wire.PIECE_BYTES]).decode().strip()
            self.ask("put_piece", {"at": at, "data": piece})
        return self.ask("put_close", {})["hash"]

    def run(self, unit, stages):
        """One run to its end: the maker presses start, waits at cues, and follows them."""
        key = self.upload(unit, stages)
        self.ask("ready", {"profile": key})
        self.wait(3)
        assert self.loop.controller.mode == "ready"
        self.board.panel.waiting.append("start")
        self.wait(1)
        assert self.loop.controller.mode == "proving"
        while self.loop.controller.mode == "proving":
            self.wait(1)
        assert self.loop.controller.mode == "running", self.loop.controller.refusal.values()
        while self.loop.controller.mode == "running":
            self.wait(1)
            self.board.link.lines = []
            if self.loop.controller.waiting() == "next":
                self.wait(20)
                if self.loop.controller.runner.cue():
                    for zone in self.loop.controller.runner.stage.zones:
                        self.board.zones[zone].body_c -= PRESS_ON_J / CAPACITY_J_PER_K
                self.board.panel.waiting.append("next")
                self.wait(1)


def log_lines(data, zones):
    """Rows and events of a run's log as lines of whole numbers and names, one after another."""
    header, at = record.read_header(bytes(data))
    yield "run %d %s" % (header["run"], ",".join(header["zones"]))
    size = record.record_size(zones)
    while at < len(data):
        item = record.unpack(bytes(data[at : at + size]), zones)
        at += size
        assert item is not None
        if isinstance(item, record.Row):
            parts = ["row %d %d %s %d" % (item.seq, item.at_ms, item.mode, item.stage)]
            parts += ["%d %d %d %d %d" % tuple(zone) for zone in item.zones]
            yield " | ".join(parts)
        else:
            figures = (item.seq, item.at_ms, item.name, item.stage, item.zone, item.a, item.b, item.text)
            yield "event %d %d %s %d %d %d %d %s" % figures


def trace():
    """Both runs as lines; made one by one, for a board's heap does not hold them all."""
    bench = Bench()
    bench.wait(2)
    bench.run("C", FIRST)
    bench.wait(5)
    bench.run("F", SECOND)
    bench.wait(5)
    board = bench.board
    for run in sorted(board.store.logs):
        for line in log_lines(board.store.logs[run], len(board.zones)):
            yield line
    for key in sorted(bench.tops_c):
        yield "top %d %d %d %d" % (key[0], key[1], key[2], int(bench.tops_c[key] * 10.0 + 0.5))
    for zone in board.zones:
        yield "relay %d %d" % (zone.on, zone.on_ms)
    yield "clashes %d" % board.clashes
    yield "alive %d watchdog %d from %d" % (
        board.alive.count,
        board.watchdog.count,
        board.watchdog.started_ms,
    )
    yield "end %d %s" % (board.clock.now_ms(), bench.loop.controller.mode)


if __name__ == "__main__":
    for text in trace():
        print(text)
