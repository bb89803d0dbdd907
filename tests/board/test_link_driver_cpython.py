"""The serial link's driver: what it writes, when, and what it gives up. The streams are stood in for."""

import importlib
import sys
import types

import pytest

UNIT = 64
MAX_QUEUE_BYTES = 4096
STALL_MS = 100
QUIET_MS = 10000


class Port:
    """A USB port with a buffer of four packets. A computer that reads empties it; one that does not, never.

    stall_ms: what a write costs that finds too little room.
    """

    def __init__(self):
        self.reads = True
        self.held = 0
        self.out = bytearray()
        self.inbox = bytearray()
        self.now_ms = (1 << 30) - 50
        self.stall_ms = 500
        self.writes = []

    # stdout.buffer
    def write(self, data):
        room = 4 * UNIT - self.held
        if len(data) > room:
            self.now_ms += self.stall_ms
            data = data[:room]
        self.out += data
        self.writes.append(len(data))
        self.held = 0 if self.reads else self.held + len(data)

    # stdin.buffer
    def readinto(self, buf):
        if not self.inbox:
            return 0
        buf[0] = self.inbox.pop(0)
        return 1

    def ready(self, mask):
        if mask == 1:
            return bool(self.inbox)
        return self.held < 4 * UNIT


class Poll:
    def __init__(self, port):
        self._port = port
        self._mask = 0

    def register(self, _stream, mask):
        self._mask = mask

    def poll(self, _timeout):
        return [self] if self._port.ready(self._mask) else []


@pytest.fixture
def port(monkeypatch):
    port = Port()
    stream = types.SimpleNamespace(buffer=port)
    monkeypatch.setitem(sys.modules, "micropython", types.SimpleNamespace(kbd_intr=lambda _: None))
    monkeypatch.setitem(
        sys.modules, "select", types.SimpleNamespace(POLLIN=1, POLLOUT=4, poll=lambda: Poll(port))
    )
    ticks = types.SimpleNamespace(
        ticks_ms=lambda: port.now_ms & ((1 << 30) - 1),
        ticks_diff=lambda a, b: ((a - b + (1 << 29)) & ((1 << 30) - 1)) - (1 << 29),
    )
    monkeypatch.setitem(sys.modules, "time", ticks)
    monkeypatch.setattr(sys, "stdin", stream)
    monkeypatch.setattr(sys, "stdout", stream)
    monkeypatch.delitem(sys.modules, "ribwright_board.drivers.link", raising=False)
    module = importlib.import_module("ribwright_board.drivers.link")
    assert (module.UNIT, module.MAX_QUEUE_BYTES, module.STALL_MS) == (UNIT, MAX_QUEUE_BYTES, STALL_MS)
    port.link = module.Link()
    yield port
    sys.modules.pop("ribwright_board.drivers.link", None)


def line(number, size=200):
    return b"tell %d " % number + b"x" * (size - 9 - len(str(number))) + b" end" + b"\n"


def lines(data):
    return [part for part in bytes(data).split(b"\n") if part]


def test_lines_go_out_whole_in_order_and_in_units(port):
    sent = [line(n, size) for n, size in enumerate((20, 64, 65, 128, 200, 512))]
    for one in sent:
        port.link.queue(one)
    for _ in range(3):
        port.link.send()
    assert lines(port.out) == [one[:-1] for one in sent]
    # Whole packets only, so that room for one byte is room for all of them.
    assert set(port.writes) == {UNIT}
    assert port.link.dropped == 0


def test_one_call_writes_a_bounded_amount(port):
    for n in range(15):
        port.link.queue(line(n, 256))
    port.link.send()
    assert len(port.out) == 16 * UNIT


def test_computer_that_stops_reading_costs_no_stalled_write(port):
    port.link.queue(line(0))
    port.link.send()
    port.reads = False
    begun_ms = port.now_ms
    for n in range(1, 400):
        port.link.queue(line(n))
        port.link.send()
    assert port.now_ms == begun_ms
    assert port.link.stalls == 0
    # Of what it missed the newest is kept, within the bound.
    assert port.link._queued <= MAX_QUEUE_BYTES
    assert port.link.dropped >= 370
    port.reads, port.held = True, 0
    for _ in range(9):
        port.link.send()
    numbers = [
        int(one.split()[1]) for one in lines(port.out) if one.startswith(b"tell ") and one.endswith(b" end")
    ]
    assert numbers[-1] == 399
    assert numbers == sorted(numbers)
    # The line that was half out when it stopped is whole, too.
    assert all(one.endswith(b" end") for one in lines(port.out))


def test_write_that_is_held_up_all_the_same_is_the_last_until_the_computer_speaks(port):
    # Something else has written to the port: its buffer holds no whole units any more.
    port.reads, port.held = False, 3 * UNIT + 1
    for n in range(6):
        port.link.queue(line(n))
    begun_ms = port.now_ms
    port.link.send()
    assert port.now_ms - begun_ms == port.stall_ms
    assert port.link.stalls == 1
    assert port.link.dropped == 6
    port.held = 0
    for n in range(6, 12):
        port.link.queue(line(n))
        port.link.send()
    assert port.now_ms - begun_ms == port.stall_ms
    port.reads = True
    port.inbox += b"ask\n"
    assert port.link.take() == b"ask\n"
    before = len(port.out)
    for _ in range(4):
        port.link.send()
    # What was half out is ended before the next line begins.
    assert port.out[before : before + 1] == b"\n"
    assert lines(port.out[before:]) == [line(n)[:-1] for n in range(6, 12)]


def test_computer_that_only_listens_hears_again_after_a_while(port):
    port.reads, port.held = False, 3 * UNIT + 1
    port.link.queue(line(0))
    port.link.send()
    assert port.link.stalls == 1
    port.reads, port.held = True, 0
    port.link.queue(line(1))
    port.now_ms += QUIET_MS - 1
    port.link.send()
    assert not lines(port.out[UNIT:])
    port.now_ms += 1
    port.link.send()
    assert lines(port.out)[-1] == line(1)[:-1]
    assert port.link.stalls == 1


def test_short_delay_is_no_stall(port):
    port.stall_ms = STALL_MS - 1
    port.reads, port.held = False, 3 * UNIT + 1
    port.link.queue(line(1))
    port.link.send()
    assert port.link.stalls == 0


def test_what_arrives_is_taken_in_bounded_amounts_and_0x03_is_data(port):
    port.inbox += b"\x03" * 600
    assert port.link.take() == b"\x03" * 512
    assert port.link.take() == b"\x03" * 88
    assert port.link.take() == b""
