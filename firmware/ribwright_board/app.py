"""The loop: sense, decide, switch, then everything that may wait. Gets its board as an argument."""

import gc

from .core import counters, events, record
from .core.controller import TICK_MS, Controller
from .core.errors import CoreError
from .core.modes import MODES
from .core.pending import Pending
from .core.sensing import Missing, Reading
from .core.service import Service

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .core.shapes import Board, Callable, Event, Store

# Between flushes this much of a run may be lost to a cut of power; longer spares the flash.
FLUSH_MS = 30000
# What lasts would settle all over what a second leaves: then no piece is large enough for a file's buffer.
# It takes 2 to 18 ms, so it waits for a pause that is longer.
COLLECT_MS, COLLECT_LATEST_MS, COLLECT_ROOM_MS = 300, 1000, 20
# Between ticks the link is looked at this often while nothing heats; right after something, more is likely.
SERVE_MS, SERVE_SOON_MS = 10, 1
# Asks looked at in one tick: each takes some milliseconds on a board.
ASKS_AT_ONCE = 2
# Of records that wait for their flush: more than an interval brings, made once.
MAX_PENDING_BYTES = 4096
# A rig that has rested so long after a reset is not in a loop of them.
CALM_MS = 120000
# For open files and the head of a log, in one piece; at best the first of these.
SPARE_BYTES = (5120, 3840, 2560, 1280)
# Modules of core that read rig and profiles, which happens once in a while.
READERS = ("rig", "relay_life", "gains", "rig_panel", "profile", "checks")
# Events after which no run is under way any more.
ENDINGS = ("trip", "stop", "done", "refused", "acknowledged")


class Loop:
    """The firmware at work on one board.

    board: bundle with clock, sensors, relays, alive, panel, link, store, watchdog, identity().
    """

    def __init__(self, board: "Board") -> None:
        self.board = board
        # What loading left is freed first, so that it lies in nobody's way.
        gc.collect()
        self._pending = Pending(MAX_PENDING_BYTES)
        store = board.store
        from .core.rig import parse  # noqa: PLC0415 - a board lets go of it again

        values, rig_hash = store.rig()
        rig = parse(values)
        board.forget(READERS)
        now_ms = board.clock.now_ms()
        self.controller = Controller(rig, now_ms, self._relays_off)
        interrupted, resets = store.boot_mark()
        self.controller.boot(interrupted, resets)
        self._calm_ms = now_ms + CALM_MS if interrupted else -1
        identity = board.identity()
        identity.update({"rig": rig_hash, "rig_name": rig.name})
        self.service = Service(self.controller, store, identity)
        self._keep_spare()
        self.service.tidy = lambda: board.forget(READERS)
        board.panel.begin(self.service)
        self._items: list[Reading | Missing | None] = [None] * len(rig.zones)
        self._record = bytearray(record.record_size(len(rig.zones)))
        self._seq = 0
        self._logging = self._tripped = False
        self._opened = 0
        self._served_ms = now_ms - SERVE_MS
        self._flush_ms = self._collect_ms = self._tick_ms = now_ms

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
            soon = now_ms - self._served_ms < SERVE_MS
            wake_ms = min(wake_ms, now_ms + (SERVE_SOON_MS if soon else SERVE_MS))
        self._collect(wake_ms)
        board.clock.sleep_until(wake_ms)

    def _tick(self, now_ms: int) -> None:
        board, controller = self.board, self.controller
        late_ms = now_ms - self._tick_ms
        controller.late_ms = max(controller.late_ms, late_ms)
        # Missed ticks are skipped, never caught up: a burst of edges is not a sign of health.
        self._tick_ms += TICK_MS * (1 + late_ms // TICK_MS)
        quiet = board.bus.quiet()
        for zone in range(len(self._items)):
            # Two converters that answer at once give readings that look like readings.
            self._items[zone] = board.sensors[zone].read(now_ms) if quiet else Missing("bus", now_ms)
        contactor = None if board.feedback is None else board.feedback.closed()
        controller.tick(now_ms, self._items, board.panel.presses(), contactor)
        # Reading and deciding took time: the edges are dated when they happen.
        self._switch(board.clock.now_ms())
        if controller.mode in ("proving", "running"):
            board.watchdog.start()
        self._serve()
        if self.service.leave_due():
            self._relays_off()
            board.restart()
        self._log(now_ms)
        self._calm_down(now_ms)
        board.panel.show(now_ms)
        # The check list is complete: one edge where heat may flow, and the watchdog last.
        if controller.alive_due():
            board.alive.edge()
        board.watchdog.feed()

    def _relays_off(self) -> None:
        """The first act of every trip."""
        for relay in self.board.relays:
            relay.off()

    def _switch(self, now_ms: int) -> None:
        states, relays = self.controller.outputs(now_ms), self.board.relays
        for zone in range(len(relays)):  # a rig that only watches has none
            relays[zone].set(states[zone])

    def _serve(self) -> None:
        link = self.board.link
        service = self.service
        try:
            # While asks wait, the port keeps what comes: it holds the host up, not us.
            data = b"" if service.waiting() else link.take()
            if data or service.waiting():
                self._served_ms = self.board.clock.now_ms()
                for answer in service.feed(data, ASKS_AT_ONCE):
                    link.queue(answer)
            link.send()
        except MemoryError:
            # No ask is worth the loop: whoever asked asks again.
            service.forget()
            gc.collect()

    def _log(self, now_ms: int) -> None:
        """Turn the controller's events and rows into records and tells; flush when it is time."""
        controller = self.controller
        urgent = False
        for event in controller.events:
            at_ms, name, zone, a, b, text = event
            self._tell(self.service.event_line, event)
            if name == "proved" and self._opened != controller.run:
                self._calm_ms = -1
                self._open_log()
                self._write(lambda store: store.mark_run(controller.run))
            if self._logging:
                number = events.event_number(name)
                at_ms -= controller.run_start_ms
                record.pack_event(self._record, self._stage(), self._seq, at_ms, number, zone, a, b, text)
                self._keep()
                if name == "trip":
                    self._tripped = True
                    self._log_trail(zone, at_ms)
            # A lock after resets must outlive the next one; only its acknowledgement ends it.
            urgent = urgent or (name in ENDINGS and text != "resets")
        controller.events = []
        rounds = controller.rounds
        if rounds.row_due:
            rounds.row_due = False
            at_ms = rounds.row_ms - controller.run_start_ms
            # The last second of a proof ends with it, and is none of the run.
            if at_ms > 0 or not self._logging:
                self._tell(self.service.row_line)
            if at_ms > 0 and self._logging:
                mode, late_ms = MODES.index(rounds.row_mode), controller.late_ms
                rows = controller.drive.figures.rows
                record.pack_row(self._record, rounds.row_stage, self._seq, at_ms, mode, 0, late_ms, rows)
                self._keep()
            controller.late_ms = 0
        if self._logging and (urgent or now_ms - self._flush_ms >= FLUSH_MS):
            self._flush(now_ms)
        if urgent:
            self._write(self._close)
            self._logging = False
            # A run whose log could not be opened leaves its number to the next one.
            self._opened = 0

    def _tell(self, line_of: "Callable[..., bytes]", *of: "Event") -> None:
        """Queue what line_of makes; without memory it stays untold, and the bend goes on."""
        try:
            self.board.link.queue(line_of(*of))
        except MemoryError:
            gc.collect()

    def _stage(self) -> int:
        runner = self.controller.runner
        return max(0, runner.index) if runner else 0

    def _keep(self) -> None:
        self._seq += 1
        self._pending.keep(self._record)

    def _log_trail(self, zone: int, at_ms: int) -> None:
        """The readings that led to a trip; zone: -1 for every one."""
        controller, room = self.controller, record.trail_room(len(self._record))
        for which in range(len(controller.rig.zones)) if zone < 0 else (zone,):
            values = controller.senses.trail.last(which)
            for at in range(0, len(values), room):
                piece = values[at : at + room]
                last_ms = max(0, at_ms - TICK_MS * (len(values) - at - len(piece)))
                record.pack_trail(self._record, self._stage(), self._seq, last_ms, which, TICK_MS, piece)
                self._keep()

    def _open_log(self) -> None:
        controller = self.controller
        header = self.service.run_header()
        header["offsets_k"] = self.service.bulk.offsets_k()
        self._pending.clear()
        self._seq = 0
        self._logging = True
        self._tripped = False
        controller.drive.take_worked()
        self._opened = controller.run
        # The header has them now; nothing later asks for all the values of the file.
        self.service.profile_values = None
        self._write(lambda store: store.open_run(controller.run, record.header_bytes(header)))

    def _flush(self, now_ms: int) -> None:
        """Commit the pending records."""
        pending, self._flush_ms = self._pending.take(), now_ms
        self._write(lambda store: store.append(pending))

    def _write(self, act: "Callable[[Store], None]") -> None:
        """Write to the flash with every relay off: a write stops the processor.

        Heat does not depend on the log. One that cannot be written on is given up, since a half-written
        record would shift all later ones; the run goes on and its tells say what happens.
        """
        board = self.board
        for relay in board.relays:
            relay.off()
        self.controller.drive.all_off(board.clock.now_ms())
        board.watchdog.feed()
        self._spare = bytearray()
        gc.collect()
        try:
            act(board.store)
        except (OSError, CoreError, MemoryError):
            self._logging = False
            self.controller.note("log_lost")
        self._keep_spare()
        self._switch(board.clock.now_ms())

    def _keep_spare(self) -> None:
        for size in SPARE_BYTES:
            try:
                self._spare = bytearray(size)
                break
            except MemoryError:
                continue

    def _close(self, store: "Store") -> None:
        """The run has ended: a reset from here on cuts nothing off; a lock was acknowledged."""
        store.close_run()
        if self._opened:
            worked = self.controller.drive.take_worked()
            store.put_counters(counters.added(store.counters(), self._opened, self._tripped, worked))
        store.mark_run(0)

    def _calm_down(self, now_ms: int) -> None:
        """After a reset in a run, a while at rest ends its count: switching the rig off then is no reset."""
        if self._calm_ms >= 0 and now_ms >= self._calm_ms and self.controller.mode == "idle":
            self._calm_ms = -1
            self._write(lambda store: store.mark_run(0))

    def _collect(self, wake_ms: int) -> None:
        """Free memory behind a tick, where neither an edge nor the next tick waits for it."""
        now_ms = self.board.clock.now_ms()
        room = wake_ms - now_ms >= COLLECT_ROOM_MS
        if now_ms - self._collect_ms >= (COLLECT_MS if room else COLLECT_LATEST_MS):
            self._collect_ms = now_ms
            # Told is what is free afterwards: leftovers of a transfer fill any heap and mean nothing.
            gc.collect()
            free = self.board.free_heap()
            self.service.heap_low = min(self.service.heap_low or free, free)


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
