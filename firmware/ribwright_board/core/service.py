"""The board's side of the link: one answer for every ask, and what the board tells unasked.

Nothing here can arm the rig or clear a trip: those two are presses at the rig. An ask that comes
again with the same sequence number gets the same answer and does nothing twice.
"""

import json

from . import messages, wire
from .bulk import Bulk
from .controller import Controller
from .errors import CoreError, RefusedError, WireError
from .figures import or_none
from .trip import stand_again, trip_words
from .units import TENTHS_MISSING, tenths

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Any, Callable, Event, Store, Values

# Lines that wait for their answer; the oldest gives way, and is asked again.
MOST_WAITING = 8
# Ticks from the answer to a planned reset: by then it has gone out.
LEAVE_TICKS = 4
# Asks that leave much behind them.
MAKE_LASTING = ("put_close", "ready")
NO_MEMORY = "the board has too little memory left for that; shorten it, or switch the board off and on"


class Service:
    """Answers asks and queues tells.

    controller: core.controller.Controller. store: the board's files. identity: mapping with board, fw,
    python, rig, rig_name.

    leaving: ticks to the planned reset that was asked for, 0 for none.
    tidy: frees memory; called around what is made to last, so that it does not settle between leftovers.
    """

    def __init__(self, controller: Controller, store: "Store", identity: "Values") -> None:
        self.controller = controller
        self.store = store
        self.identity = identity
        self.unix: int | None = None
        self.unix_ms = 0
        self.crc_errors = 0
        self.heap_low = 0
        self.leaving = 0
        self.tidy: Callable[[], object] = str
        self.profile_hash = ""
        self.bulk = Bulk(controller, store)
        self.profile_values: Values | None = None
        self._reader = wire.LineReader()
        if store.planned:
            stand_again(store.planned, controller.guard, len(controller.rig.zones), controller.now_ms)
        self._last_ask = (-1, b"")
        self._last_answer = b""
        self._tell_seq = 0
        self._waiting: list[bytes] = []

    def feed(self, data: bytes, most: int = MOST_WAITING) -> list[bytes]:
        """Answers, as encoded lines, to asks completed by these bytes, and to those that waited.

        data: bytes from the host, in pieces of any size. most: lines looked at now; the others wait.
        """
        waiting = self._waiting
        for line in self._reader.feed(data):
            if len(waiting) >= MOST_WAITING:
                waiting.pop(0)
                self.crc_errors += 1
            waiting.append(line)
        answers = []
        for _ in range(min(most, len(waiting))):
            answer = self.answer(waiting.pop(0))
            if answer:
                answers.append(answer)
        return answers

    def forget(self) -> None:
        """Let go of everything that has come and is not answered."""
        self._waiting = []
        self._reader = wire.LineReader()
        self.crc_errors += 1

    def waiting(self) -> bool:
        """Whether lines wait for their answer: then nothing more need be taken from the port."""
        return len(self._waiting) > 0

    def answer(self, line: bytes) -> bytes:
        """The encoded answer to one line; empty for a damaged line or one that is no ask.

        line: without its line end.
        """
        try:
            message = wire.decode(line)
        except WireError:
            # A damaged line cannot be answered: whose it was is not known. The host asks again.
            self.crc_errors += 1
            return b""
        if message.kind != "ask":
            return b""
        if self._last_ask[0] == message.seq and self._last_ask[1] == line:
            return self._last_answer
        try:
            messages.check(message.verb, message.data)
            if message.verb in MAKE_LASTING:
                self.tidy()
            answer = self._carry_out(message.verb, message.data)
            encoded = wire.encode_shortened("ans", message.seq, "ok", answer)
        except CoreError as error:
            answer = {"code": error.code, "text": error.text[:300]}
            encoded = wire.encode_shortened("ans", message.seq, "no", answer)
        except MemoryError:
            self.tidy()
            encoded = wire.encode("ans", message.seq, "no", {"code": "memory", "text": NO_MEMORY})
        except OSError as error:
            text = "the board's flash failed (error %s); read the runs back, free some room" % error.errno
            encoded = wire.encode_shortened("ans", message.seq, "no", {"code": "flash", "text": text})
        except (KeyError, TypeError, ValueError, OverflowError):
            text = "the values of %s are not what it needs; update the older side" % message.verb
            encoded = wire.encode_shortened("ans", message.seq, "no", {"code": "values", "text": text})
        self._last_ask = (message.seq, line)
        self._last_answer = encoded
        return encoded

    # Tells ---------------------------------------------------------------------------------

    def tell(self, verb: str, data: "Values") -> bytes:
        """An encoded tell.

        verb: "row" or "event". data: mapping of JSON values.
        """
        self._tell_seq = (self._tell_seq + 1) % wire.SEQUENCE_MODULO
        return wire.encode_shortened("tell", self._tell_seq, verb, data)

    def event_line(self, event: "Event") -> bytes:
        """An encoded tell of one of the controller's events.

        event: (at_ms, name, zone, a, b, text).
        """
        at_ms, name, zone, a, b, text = event
        data = {"ms": at_ms, "code": name, "zone": zone, "a": a, "b": b, "text": text[:60]}
        data["mode"] = self.controller.mode
        return self.tell("event", data)

    def row_line(self) -> bytes:
        """An encoded tell of the last second, with the mode of now."""
        return self.tell("row", self.figures())

    def figures(self) -> "Values":
        """What both status and row say."""
        controller = self.controller
        runner = controller.runner if controller.mode in ("running", "paused") else None
        stage = runner.stage if runner else None
        rows, on = controller.drive.figures.rows, controller.drive.relay_on
        zones = [[or_none(row[0]), or_none(row[1]), row[2], int(on(i))] for i, row in enumerate(rows)]
        known = any(row[4] != TENTHS_MISSING for row in rows) and controller.mode != "tripped"
        bands_k = controller.course.woods.bands_k if controller.course else []
        mids = [[or_none(row[4]), tenths(band_k)] for row, band_k in zip(rows, bands_k)]
        return {
            "ms": controller.now_ms,
            "mode": controller.mode,
            "run": controller.run,
            "stage": runner.index + 1 if runner else 0,
            "stages": len(controller.profile.stages) if controller.profile else 0,
            "stage_kind": stage.kind if stage else None,
            "zones": zones,
            "mids": mids if known and mids else None,
            "waiting": controller.waiting() or None,
            "cue": (runner.cue() or None) if runner else None,
            "late_ms": controller.late_ms,
            "heap": self.heap_low,
            "crc_errors": self.crc_errors + self._reader.dropped,
        }

    # Asks ----------------------------------------------------------------------------------

    def _carry_out(self, verb: str, data: "Values") -> "Any":
        own = getattr(self, "_ask_" + verb, None) or getattr(self.bulk, "ask_" + verb, None)
        if own is None:
            from .acts import carry_out  # noqa: PLC0415 - laying out has loaded it: no run looks for memory

            return carry_out(self.controller, verb, data)
        return own(data)

    def _ask_hello(self, data: "Values") -> "Values":
        if data["v"] != wire.PROTOCOL:
            older = "Ribwright on the computer" if data["v"] < wire.PROTOCOL else "the board"
            text = "the computer speaks link %d, the board %d; update %s" % (data["v"], wire.PROTOCOL, older)
            raise RefusedError("protocol", text)
        unix = data.get("unix")
        # Anything else is no wall time, and a run without one says so.
        if isinstance(unix, int) and unix > 1:
            self.unix = unix
            self.unix_ms = self.controller.now_ms
        rig = self.controller.rig
        answer = {"v": wire.PROTOCOL, "zones": rig.zone_names(), "unit": rig.unit}
        answer.update(self.identity)
        return answer

    def _ask_status(self, data: "Values") -> "Values":
        answer = self.figures()
        # At rest the profile that arrived last counts; a run that is laid out keeps its own.
        profile = self.controller.profile if self.controller.mode != "idle" else None
        answer["profile"] = (
            {"name": profile.name, "hash": self.profile_hash} if profile is not None else self.bulk.uploaded
        )
        trip = self.controller.guard.trip
        answer["trip"] = trip and trip.values()
        answer["refused"] = self.controller.refusal and self.controller.refusal.values()
        answer["interrupted"] = self.controller.interrupted or None
        return answer

    def _ask_trip(self, data: "Values") -> "Values":
        controller = self.controller
        trip = controller.guard.trip or controller.refusal
        return {"text": trip and trip_words(trip, controller.rig)}

    def _ask_ready(self, data: "Values") -> "Values":
        stage = data.get("stage")
        return {"run": self.lay_out(data["profile"], stage), "stage": stage or 1}

    def lay_out(self, wanted: str, stage: int | None = None) -> int:
        """Lay out a run of a stored profile, as an ask or a press at the rig does; its number.

        wanted: the profile's hash. stage: to begin with, counted from 1; None for the first.
        Raises CoreError, OSError or ValueError; then nothing is laid out.
        """
        body = self.store.get_profile(wanted)
        if body is None:
            raise RefusedError("no_profile", "the board holds no profile %s; upload it first" % wanted)
        if self.store.sha256(body)[:12] != wanted:
            raise RefusedError("damaged", "profile %s is damaged on the board; upload it again" % wanted)
        from .profile import first_index, parse  # noqa: PLC0415 - a board lets go of it again

        values = json.loads(body)
        profile = parse(values, self.controller.rig)
        first = first_index(profile, stage)
        self.tidy()
        from . import acts as _  # noqa: F401, PLC0415 - here, so that no run looks for memory later

        run = self.store.next_run()
        if self.controller.mode in ("idle", "ready"):
            self.bulk.make_room()
        self.controller.lay_out(profile, run, first)
        self.profile_hash = wanted
        self.profile_values = values
        self.controller.preflight = self.check_files
        return run

    def run_header(self) -> "Values":
        """What the log of the run that is laid out begins with."""
        controller = self.controller
        header = {
            "run": controller.run,
            "zones": controller.rig.zone_names(),
            "power_w": [zone.power_w for zone in controller.rig.zones],
            "wood_band_k": controller.course.woods.bands_k if controller.course else [],
            "profile": self.profile_values,
            "profile_hash": self.profile_hash,
            "from_stage": controller.course.first + 1 if controller.course else 1,
            "started_ms": controller.run_start_ms,
            "unix": self.unix and self.unix + (controller.run_start_ms - self.unix_ms) // 1000,
        }
        header.update(self.identity)
        return header

    def check_files(self) -> str:
        """What is wrong with the files of the run that is laid out: "" or "files"."""
        try:
            whole = self.store.files_whole(self.profile_hash, self.identity["rig"])
        except OSError:
            whole = False
        return "" if whole else "files"

    def leave_due(self) -> bool:
        """Whether the planned reset that was asked for is due; asked once in every tick."""
        self.leaving = max(0, self.leaving - 1)
        return self.leaving == 1

    def _ask_to_prompt(self, data: "Values") -> "Values":
        mode = self.controller.mode
        if mode not in ("idle", "tripped"):
            raise RefusedError("busy", "the rig is %s; end the run first: press stop at the rig" % mode)
        trip = self.controller.guard.trip  # only its acknowledgement at the rig ends it
        self.store.plan_reset(trip.values() if trip else None)
        self.leaving = LEAVE_TICKS
        return {"mode": mode}

    def _ask_stop(self, data: "Values") -> "Values":
        self.controller.stop()
        return {"mode": self.controller.mode}

    def _ask_next(self, data: "Values") -> "Values":
        self.controller.next()
        return {"mode": self.controller.mode}

    def _ask_pause(self, data: "Values") -> "Values":
        self.controller.pause()
        return {"mode": self.controller.mode}
