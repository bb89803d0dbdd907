"""A board for the host's tests: the firmware's own link service over memory, a socket or a pty."""

import contextlib
import hashlib
import os
import socket
import threading
import tomllib
from importlib.resources import files

from ribwright_board import __version__
from ribwright_board.core import wire
from ribwright_board.core.controller import Controller
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.service import Service
from ribwright_host.rigs import rig_hash

LIBRARY = files("ribwright_host") / "library"
RIG_TEXT = (LIBRARY / "rig_two_zone_120v.toml").read_text(encoding="utf-8")
PROFILE_TEXT = (LIBRARY / "sapele_baritone_side.toml").read_text(encoding="utf-8")
BOARD_ID = "e6614103e7452d2f"


class Shelf:
    """The board's files, in memory."""

    def __init__(self):
        self.profiles = {}
        self.logs = {}
        self.pinned = set()
        self.counted = {}
        self.writes = 0
        self.planned = None

    def sha256(self, data):
        return hashlib.sha256(data).hexdigest()

    def put_profile(self, key, body):
        self.writes += 1
        self.profiles[key] = body

    def get_profile(self, key):
        return self.profiles.get(key)

    def runs(self):
        return [[number, len(data), int(number in self.pinned)] for number, data in sorted(self.logs.items())]

    def free_bytes(self):
        return 900_000

    def make_room(self, wanted):
        return []

    def pin_run(self, run, pinned):
        if run not in self.logs:
            raise RefusedError("no_run", f"the board holds no run {run}; list them with runs")
        (self.pinned.add if pinned else self.pinned.discard)(run)

    def plan_reset(self, trip):
        self.planned = trip or {}

    def counters(self):
        return self.counted

    def next_run(self):
        return max(self.logs, default=0) + 1

    def read_run(self, run, at, most):
        data = self.logs.get(run)
        return None if data is None else (len(data), data[at : at + most])


class Peer:
    """One board. `asks` holds every line it was given; `spoil` may change what it sends back."""

    def __init__(self, firmware=__version__, board=BOARD_ID):
        rig = tomllib.loads(RIG_TEXT)
        self.shelf = Shelf()
        self.controller = Controller(parse_rig(rig), 0)
        identity = {
            "board": board,
            "fw": firmware,
            "python": "MicroPython 1.28.0",
            "rig": rig_hash(rig),
            "rig_name": rig["name"],
        }
        self.service = Service(self.controller, self.shelf, identity)
        self.asks = []
        self.spoil = lambda data: data
        self.cut_after = None
        self._reader = wire.LineReader()

    def take(self, data):
        """The bytes that come back for bytes of the host."""
        answers = b""
        for line in self._reader.feed(data):
            self.asks.append(line)
            answers += self.service.answer(line)
        return self.spoil(answers) if answers else b""

    @property
    def verbs(self):
        """What was asked, in order."""
        return [line.split(b" ")[2].decode() for line in self.asks]

    @property
    def done(self):
        """Whether the cable is to be cut now."""
        return self.cut_after is not None and len(self.asks) >= self.cut_after


@contextlib.contextmanager
def on_socket(peer):
    """Serve a peer on a socket; its address."""
    listener = socket.create_server(("127.0.0.1", 0))
    ended = threading.Event()

    def serve():
        while not ended.is_set():
            try:
                client, _ = listener.accept()
            except OSError:
                return
            with client:
                while not ended.is_set() and not peer.done:
                    try:
                        data = client.recv(4096)
                        if not data:
                            break
                        client.sendall(peer.take(data))
                    except OSError:
                        break

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        ended.set()
        # Closing a listener does not wake accept() everywhere; a last visitor does.
        with contextlib.suppress(OSError):
            socket.create_connection(listener.getsockname(), 1).close()
        listener.close()
        thread.join(5)


@contextlib.contextmanager
def on_pty(peer):
    """Serve a peer on a pseudo terminal, which the host opens as a serial port; its path."""
    import select

    board, host = os.openpty()
    ended = threading.Event()

    def serve():
        while not ended.is_set() and not peer.done:
            if not select.select([board], [], [], 0.05)[0]:
                continue
            try:
                os.write(board, peer.take(os.read(board, 4096)))
            except OSError:
                return
        # Only a cable that is cut on purpose is closed here; at the end of a test the host closes first.
        if peer.done:
            os.close(host)
            os.close(board)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield os.ttyname(host)
    finally:
        ended.set()
        thread.join(5)
        for handle in (host, board):
            with contextlib.suppress(OSError):
                os.close(handle)
