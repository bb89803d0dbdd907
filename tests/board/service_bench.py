"""A service with its controller, its files in memory, and a host that asks it through encoded lines."""

import binascii
import hashlib
import json

from board.samples import bench_rig, profile_mapping, rig_mapping
from board.warm import DITHER_C, Blankets, quick
from ribwright_board.core import wire
from ribwright_board.core.controller import Controller
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.sensing import Reading
from ribwright_board.core.service import Service

IDENTITY = {
    "board": "72696273696d0001",
    "fw": "0.1.0",
    "python": "micropython 1.28.0",
    "rig": "ab41ae20ffe6",
    "rig_name": "two-zone bench rig",
}


class Store:
    """The board's files, in memory."""

    def __init__(self):
        self.profiles = {}
        self.arrived = []
        self.logs = {}
        self.pinned = []
        self.counted = {}
        self.free = 1000000
        self.wanted = 0
        self.planned = None

    def rig(self):
        return rig_mapping(), IDENTITY["rig"]

    def sha256(self, data):
        return binascii.hexlify(hashlib.sha256(data).digest()).decode()

    def files_whole(self, key, rig_hash):
        body = self.get_profile(key)
        return body is not None and self.sha256(body)[:12] == key and self.rig()[1] == rig_hash

    def put_profile(self, key, body):
        self.profiles[key] = body
        self.arrived = [other for other in self.arrived if other != key] + [key]

    def get_profile(self, key):
        return self.profiles.get(key)

    def profile_keys(self):
        return self.arrived

    def next_run(self):
        return max(list(self.logs) + [0]) + 1

    def runs(self):
        return [[run, len(self.logs[run]), int(run in self.pinned)] for run in sorted(self.logs)]

    def free_bytes(self):
        return self.free

    def make_room(self, wanted):
        """One old run gives its room where there is too little."""
        self.wanted = wanted
        removed = []
        for run in sorted(self.logs):
            if self.free < wanted and run not in self.pinned:
                self.free += len(self.logs.pop(run))
                removed.append(run)
        if self.free < wanted:
            raise RefusedError("no_room", "too little")
        return removed

    def pin_run(self, run, pinned):
        self.pinned = [other for other in self.pinned if other != run] + ([run] if pinned else [])

    def plan_reset(self, trip):
        self.planned = trip or {}

    def counters(self):
        return self.counted

    def read_run(self, run, at, most):
        if run not in self.logs:
            return None
        return len(self.logs[run]), self.logs[run][at : at + most]


class Bench:
    """A service with its controller, store and clock, asked through encoded lines."""

    def __init__(self, change=None, identity=None):
        self.rig = quick(bench_rig(change))
        self.controller = Controller(self.rig, 0)
        self.store = Store()
        self.service = Service(self.controller, self.store, identity or IDENTITY)
        self.blankets = Blankets(len(self.rig.zones))
        self.seq = 0
        self.now_ms = 0

    def say(self, verb, data=None):
        """The encoded answers to one ask with a fresh sequence number."""
        self.seq += 1
        return self.service.feed(wire.encode("ask", self.seq, verb, data or {}))

    def ask(self, verb, data=None):
        """Whether it was "ok" or "no", and the values."""
        answers = self.say(verb, data)
        assert len(answers) == 1
        message = wire.decode(answers[0])
        assert (message.kind, message.seq) == ("ans", self.seq)
        assert message.verb in ("ok", "no")
        return message.verb, message.data

    def ok(self, verb, data=None):
        how, values = self.ask(verb, data)
        assert how == "ok", values
        return values

    def no(self, verb, data=None):
        how, values = self.ask(verb, data)
        assert how == "no", values
        assert sorted(values) == ["code", "text"]
        return values

    def tick(self, *pressed, items=None):
        self.blankets.flow(self.controller, self.now_ms, self.now_ms + 100)
        self.now_ms += 100
        away_c = DITHER_C if self.now_ms % 200 else -DITHER_C
        good = [Reading(temp_c + away_c, 20.0, self.now_ms) for temp_c in self.blankets.temps_c]
        self.controller.tick(self.now_ms, items or good, pressed)
        return self.controller.outputs(self.now_ms)

    def upload(self, values=None):
        body = values if isinstance(values, bytes) else json.dumps(values or profile_mapping()).encode()
        sha = self.store.sha256(body)
        self.ok("put_open", {"kind": "profile", "size": len(body), "sha": sha})
        for at in range(0, len(body), wire.PIECE_BYTES):
            piece = body[at : at + wire.PIECE_BYTES]
            text = binascii.b2a_base64(piece).decode().strip()
            assert self.ok("put_piece", {"at": at, "data": text}) == {"at": at + len(piece)}
        return self.ask("put_close")

    def begin(self):
        """Press start and let the rig prove itself."""
        self.tick("start")
        while self.controller.mode == "proving":
            self.tick()
        assert self.controller.mode == "running"

    def run(self):
        """A run under way."""
        _, values = self.upload()
        self.ok("ready", {"profile": values["hash"]})
        for _ in range(5):
            self.tick()
        self.begin()
