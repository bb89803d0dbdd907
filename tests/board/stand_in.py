"""A stand-in for everything the firmware's loop touches, for both interpreters.

Each zone is one lumped heat capacity, C dT/dt = P u - UA (T - room), seen by a thermocouple with a
lag of its own. Only sums and products are used, so that both interpreters give the same numbers.
"""

import binascii
import hashlib

from board.samples import Draws
from ribwright_board.core import sensing

ROOM_C = 21.0
COLD_C = 24.0
# 240 W on 0.8 J/K a watt: 1.25 K/s at full power, and 375 K above the room if it went on for ever.
CAPACITY_J_PER_K = 192.0
LOSS_W_PER_K = 0.64
JUNCTION_LAG_S = 3.0
POWER_W = 240.0
# From the last edge of the alive signal to the contactor's opening: its detector and the coil.
DETECTOR_MS = 820


class Zone:
    """One blanket with its thermocouple."""

    def __init__(self, draws):
        self.body_c = ROOM_C
        self.seen_c = ROOM_C
        self.on = False
        self.on_ms = 0
        self.off_at_ms = -1000
        self._draws = draws

    def advance(self, dt_ms, closed):
        """Let time pass; closed: the contactor lets power through."""
        dt_s = dt_ms / 1000.0
        power_w = POWER_W if self.on and closed else 0.0
        if power_w:
            self.on_ms += dt_ms
        self.body_c += (power_w - LOSS_W_PER_K * (self.body_c - ROOM_C)) * dt_s / CAPACITY_J_PER_K
        self.seen_c += (self.body_c - self.seen_c) * dt_s / JUNCTION_LAG_S

    def word(self):
        """The converter's frame in two halves, with noise of up to a quarter of a degree each way."""
        emf_uv = sensing._uv(sensing.K_TABLE_UV, self.seen_c) - sensing._uv(sensing.K_TABLE_UV, COLD_C)
        shown_c = COLD_C + emf_uv / sensing.K_LINE_UV_PER_K + 0.5 * self._draws.share() - 0.25
        quarters = int(shown_c * 4.0 + 1000.5) - 1000
        return (quarters << 2) & 0xFFFC, int(COLD_C * 16.0) << 4


class Bus:
    """The wires that the converters share; quiet: nobody answers while nobody is asked."""

    def __init__(self):
        self.is_quiet = True

    def quiet(self):
        return self.is_quiet


class Sensor:
    def __init__(self, zone):
        self._zone = zone

    def read(self, now_ms):
        hi, lo = self._zone.word()
        return sensing.read_max31855(hi, lo, now_ms)


class Relay:
    """Notes what the branch carries; off and set as the firmware calls them."""

    def __init__(self, board, zone):
        self._board = board
        self._zone = zone

    def off(self):
        self.set(False)

    def set(self, on):
        zone = self._zone
        now_ms = self._board.clock.now_ms()
        if on and not zone.on:
            self._board.watch_branch(zone, now_ms)
        elif zone.on and not on:
            zone.off_at_ms = now_ms
        zone.on = on


class Clock:
    def __init__(self, board):
        self._board = board
        self._ms = 0

    def now_ms(self):
        return self._ms

    def sleep_until(self, at_ms):
        if at_ms > self._ms:
            closed = self._board.alive.holds(self._ms)
            for zone in self._board.zones:
                zone.advance(at_ms - self._ms, closed)
            self._ms = at_ms


class Alive:
    """The alive signal with what it holds: its detector lets go when no edge comes for a while."""

    def __init__(self, board):
        self.count = 0
        self._board = board
        self._edge_ms = -DETECTOR_MS

    def edge(self):
        self.count += 1
        self._edge_ms = self._board.clock.now_ms()

    def holds(self, now_ms):
        """Whether the contactor is closed."""
        return now_ms - self._edge_ms < DETECTOR_MS


class Watchdog:
    def __init__(self, board):
        self.count = 0
        self.started_ms = -1
        self._board = board

    def feed(self):
        self.count += 1

    def start(self):
        if self.started_ms < 0:
            self.started_ms = self._board.clock.now_ms()


class Panel:
    def __init__(self):
        self.waiting = []

    def begin(self, service):
        pass

    def show(self, now_ms):
        pass

    def presses(self):
        found = tuple(self.waiting)
        self.waiting = []
        return found


class Link:
    """The host's end: asks to be taken, lines that came back."""

    def __init__(self):
        self.asks = bytearray()
        self.lines = []

    def take(self):
        found = bytes(self.asks)
        self.asks = bytearray()
        return found

    def queue(self, line):
        self.lines.append(line)

    def send(self):
        pass


class Store:
    """Files in memory."""

    def __init__(self, rig):
        self._rig = rig
        self.profiles = {}
        self.arrived = []
        self.logs = {}
        self.mark = (0, 0)
        self.planned = None
        self._plan = None
        self.counted = {}
        self._open = 0

    def rig(self):
        return self._rig, "0123456789ab"

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
        return len(self.logs) + 1

    def open_run(self, run, header):
        self.logs[run] = bytearray(header)
        self._open = run

    def append(self, data):
        if self._open:
            self.logs[self._open].extend(data)

    def close_run(self):
        self._open = 0

    def make_room(self, wanted):
        return []

    def counters(self):
        return self.counted

    def put_counters(self, values):
        self.counted = values

    def mark_run(self, run, resets=0):
        self.mark = (run, resets if run else 0)

    def plan_reset(self, trip):
        self._plan = trip or {}

    def boot_mark(self):
        """A new life begins: what was planned is taken, once."""
        self.planned, self._plan = self._plan, None
        run, resets = self.mark
        if run and self.planned is None:
            self.mark = (run, resets + 1)
        return self.mark


class Board:
    """The bundle that the loop gets."""

    def __init__(self, rig):
        draws = Draws(20261125)
        self.zones = [Zone(draws) for _ in rig["zones"]]
        self.sensors = [Sensor(zone) for zone in self.zones]
        self.relays = [Relay(self, zone) for zone in self.zones]
        self.clock = Clock(self)
        self.alive = Alive(self)
        self.watchdog = Watchdog(self)
        self.panel = Panel()
        self.link = Link()
        self.store = Store(rig)
        self.clashes = 0
        self.feedback = None
        self.bus = Bus()
        self.restarts = 0

    def identity(self):
        return {"board": "72696273696d0001", "fw": "0", "python": "any"}

    def restart(self):
        self.restarts += 1

    def free_heap(self):
        return 100000

    def forget(self, names):
        pass

    def watch_branch(self, zone, now_ms):
        """The branch of this rig carries one zone at a time, a mains half-cycle (9 ms) between two."""
        for other in self.zones:
            if other is not zone and (other.on or now_ms - other.off_at_ms < 9):
                self.clashes += 1
