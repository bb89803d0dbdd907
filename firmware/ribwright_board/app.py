"""The loop: sense, decide, switch, then everything that may wait. Gets its board as an argument."""

import gc

from .core import record
from .core.controller import TICK_MS, Controller
from .core.errors import CoreError
from .core.modes import MODES
from .core.rig import parse as parse_rig
from .core.sensing import Missing, Reading
from .core.service import Service

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .core.shapes import Board, Callable, Store

# Between flushes this much of a run may be lost to a cut of power; longer spares the flash.
FLUSH_MS = 30000
COLLECT_MS = 1000
# Between ticks the link is looked at this often while nothing heats, so that transfers are quick.
SERVE_MS = 10
MAX_PENDING_BYTES = 4096


class Loop:
    """The firmware at work on one board.

    board: bundle with clock, sensors, relays, alive, panel, link, store, watchdog, identity().
    """

    def __init__(self, board: "Board") -> None:
        self.board = board
        store = board.store
        values, rig_hash = store.rig()
        rig = parse_rig(values)
        now_ms = board.clock.now_ms()
        self.controller = Controller(rig, now_ms)
        identity = board.identity()
        identity["rig"] = rig_hash
        identity["rig_name"] = rig.name
        self.service = Service(self.controller, store, identity)
        self._items: list[Reading | Missing | None] = [None] * len(rig.zones)
        self._record = bytearray(record.record_size(len(rig.zones)))
        self._pending = bytearray()
        self._seq = 0
        self._logging = False
        self._flush_ms = now_ms
        self._collect_ms = now_ms
        self._tick_ms = now_ms

    def step(self) -> None:
        """One wake: a whole tick when it is due, else only the relays' edges and the link."""
        board = self.board
        now_ms = board.clock.now_ms()
        if now_ms >= self._tick_ms:
            self._tick(now_ms)
        else:
            self._switch(now_ms)
            if self.controller.mode == "idle":
                self._serve()
        wake_ms = min(self._tick_ms, self.controller.next_edge_ms(now_ms))
        if self.controller.mode == "idle":
            wake_ms = min(wake_ms, now_ms + SERVE_MS)
        board.clock.sleep_until(wake_ms)

    def _tick(self, now_ms: int) -> None:
        board = self.board
        controller = self.controller
        late_ms = now_ms - self._tick_ms
        controller.late_ms = max(controller.late_ms, late_ms)
        # Missed ticks are skipped, never caught up: a burst of edges is not a sign of health.
        self._tick_ms += TICK_MS * (1 + late_ms // TICK_MS)
        for zone in range(len(self._items)):
            self._items[zone] = board.sensors[zone].read(now_ms)
        controller.tick(now_ms, self._items, board.panel.presses())
        # Reading and deciding took time: the edges are dated when they happen.
        self._switch(board.clock.now_ms())
        if controller.mode in ("proving", "running"):
            board.watchdog.start()
        self._serve()
        self._log(now_ms)
        self._collect(now_ms)
        # The check list is complete: one edge, and the watchdog last.
        board.alive.edge()
        board.watchdog.feed()

    def _switch(self, now_ms: int) -> None:
        states = self.controller.outputs(now_ms)
        relays = self.board.relays
        for zone in range(len(states)):
            relays[zone].set(states[zone])

    def _serve(self) -> None:
        link = self.board.link
        data = link.take()
        if data:
            for answer in self.service.feed(data):
                link.queue(answer)
        link.send()

    # The log -------------------------------------------------------------------------------

    def _log(self, now_ms: int) -> None:
        """Turn the controller's events and rows into records and tells; flush when it is time."""
        controller = self.controller
        link = self.board.link
        urgent = False
        for event in controller.events:
            at_ms, name, zone, a, b, text = event
            link.queue(self.service.event_line(event))
            if name == "proved":
                self._open_log()
            if self._logging:
                number = record.event_number(name)
                at_ms -= controller.run_start_ms
                record.pack_event(self._record, self._stage(), self._seq, at_ms, number, zone, a, b, text)
                self._keep()
            urgent = urgent or name in ("trip", "stop", "done")
        controller.events = []
        if controller.row_due:
            controller.row_due = False
            link.queue(self.service.row_line())
            if self._logging:
                at_ms = now_ms - controller.run_start_ms
                record.pack_row(
                    self._record,
                    self._stage(),
                    self._seq,
                    at_ms,
                    MODES.index(controller.mode),
                    0,
                    controller.late_ms,
                    controller.figures.rows,
                )
                self._keep()
            controller.late_ms = 0
        if self._logging and (urgent or now_ms - self._flush_ms >= FLUSH_MS):
            self._flush(now_ms)
            if urgent:
                self._write(_close)
                self._logging = False

    def _stage(self) -> int:
        runner = self.controller.runner
        return max(0, runner.index) if runner else 0

    def _keep(self) -> None:
        self._seq += 1
        if len(self._pending) + len(self._record) <= MAX_PENDING_BYTES:
            self._pending.extend(self._record)

    def _open_log(self) -> None:
        controller = self.controller
        service = self.service
        header = {
            "run": controller.run,
            "zones": controller.rig.zone_names(),
            "power_w": [zone.power_w for zone in controller.rig.zones],
            "profile": service.profile_values,
            "profile_hash": service.profile_hash,
            "started_ms": controller.run_start_ms,
            "unix": None,
        }
        if service.unix is not None:
            header["unix"] = service.unix + (controller.run_start_ms - service.unix_ms) // 1000
        header.update(service.identity)
        self._pending = bytearray()
        self._seq = 0
        self._logging = True
        self._write(lambda store: store.open_run(controller.run, record.header_bytes(header)))

    def _flush(self, now_ms: int) -> None:
        """Commit the pending records."""
        pending = self._pending
        self._pending = bytearray()
        self._flush_ms = now_ms
        self._write(lambda store: store.append(pending))

    def _write(self, act: "Callable[[Store], None]") -> None:
        """Write to the flash with every relay off: a write stops the processor.

        Heat does not depend on the log. One that cannot be written on is given up, since a half-written
        record would shift all later ones; the run goes on and its tells say what happens.
        """
        board = self.board
        for relay in board.relays:
            relay.off()
        self.controller.all_off(board.clock.now_ms())
        board.watchdog.feed()
        try:
            act(board.store)
        except (OSError, CoreError):
            self._logging = False
            self.controller.note("log_lost")
        self._switch(board.clock.now_ms())

    def _collect(self, now_ms: int) -> None:
        """Free memory at a chosen moment, once a second, never in the middle of switching."""
        if now_ms - self._collect_ms >= COLLECT_MS:
            self._collect_ms = now_ms
            free = self.board.free_heap()
            service = self.service
            service.heap_low = min(service.heap_low or free, free)
            gc.collect()


def _close(store: "Store") -> None:
    store.close_run()


def run(board: "Board") -> None:
    """Run the rig for ever.

    board: the bundle of this place: drivers.board.make_board() on hardware.
    Any exception ends with every relay off and no more alive edges.
    """
    try:
        loop = Loop(board)
        while True:
            loop.step()
    finally:
        for relay in board.relays:
            relay.off()
