"""The board's side of the link: one answer for every ask, and what the board tells unasked.

Nothing here can arm the rig or clear a trip: those two are presses at the rig. An ask that comes
again with the same sequence number gets the same answer and does nothing twice.
"""

import binascii
import json

from . import wire
from .controller import Controller
from .errors import CoreError, RefusedError, WireError
from .figures import or_none
from .profile import parse as parse_profile
from .trip import trip_words
from .units import TENTHS_MISSING, tenths

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Event, Store, Values

MAX_PROFILE_BYTES = 8192
RUNS_PER_ANSWER = 16

# Every ask that the board answers, each by the method of its name: _ask_hello and so on.
ASKS = (
    "hello",
    "status",
    "trip",
    "put_open",
    "put_piece",
    "put_close",
    "ready",
    "stop",
    "next",
    "pause",
    "runs",
    "get",
)


class Service:
    """Answers asks and queues tells.

    controller: core.controller.Controller. store: the board's files. identity: mapping with board, fw,
    python, rig, rig_name.
    """

    def __init__(self, controller: Controller, store: "Store", identity: "Values") -> None:
        self.controller = controller
        self.store = store
        self.identity = identity
        self.unix: int | None = None
        self.unix_ms = 0
        self.crc_errors = 0
        self.heap_low = 0
        self.profile_hash = ""
        self.uploaded: Values | None = None
        self.profile_values: Values | None = None
        self._reader = wire.LineReader()
        self._last_ask = (-1, b"")
        self._last_answer = b""
        self._tell_seq = 0
        self._incoming: Values | None = None

    def feed(self, data: bytes) -> list[bytes]:
        """Answers, as encoded lines, to the asks completed by these bytes.

        data: bytes from the host, in pieces of any size.
        """
        answers = []
        for line in self._reader.feed(data):
            answer = self.answer(line)
            if answer:
                answers.append(answer)
        return answers

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
            if message.verb not in ASKS:
                raise RefusedError(
                    "no_such_ask", "this board does not know %s; update the older side" % message.verb
                )
            answer = getattr(self, "_ask_" + message.verb)(message.data)
            encoded = wire.encode_shortened("ans", message.seq, "ok", answer)
        except CoreError as error:
            answer = {"code": error.code, "text": error.text[:300]}
            encoded = wire.encode_shortened("ans", message.seq, "no", answer)
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
        """An encoded tell of the present second."""
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

    def _ask_hello(self, data: "Values") -> "Values":
        if data.get("v") != wire.PROTOCOL:
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
            {"name": profile.name, "hash": self.profile_hash} if profile is not None else self.uploaded
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

    def _ask_put_open(self, data: "Values") -> "Values":
        size, sha = data["size"], data["sha"]
        if data.get("kind") != "profile":
            raise RefusedError("kind", "only a profile can be put; flash brings everything else")
        if not 0 < size <= MAX_PROFILE_BYTES:
            text = "profile of %d bytes, the board takes up to %d; shorten it" % (size, MAX_PROFILE_BYTES)
            raise RefusedError("size", text)
        incoming = self._incoming
        if incoming is None or incoming["size"] != size or incoming["sha"] != sha:
            incoming = {"size": size, "sha": sha, "body": bytearray()}
            self._incoming = incoming
        return {"at": len(incoming["body"])}

    def _ask_put_piece(self, data: "Values") -> "Values":
        incoming = self._incoming
        if incoming is None:
            raise RefusedError("not_open", "no transfer is open; begin again")
        body = incoming["body"]
        if data["at"] == len(body):
            piece = binascii.a2b_base64(data["data"])
            if not 0 < len(piece) <= wire.PIECE_BYTES or len(body) + len(piece) > incoming["size"]:
                raise RefusedError("piece", "piece of %d bytes does not fit; begin again" % len(piece))
            body.extend(piece)
        return {"at": len(body)}

    def _ask_put_close(self, data: "Values") -> "Values":
        incoming = self._incoming
        if incoming is None or len(incoming["body"]) != incoming["size"]:
            raise RefusedError("not_whole", "the profile did not arrive whole; send the missing pieces")
        if self.controller.mode in ("proving", "running", "paused"):
            # Storing writes to the flash, which stops the processor; not while a relay may be on.
            raise RefusedError("busy", "the rig is %s; upload when the run is over" % self.controller.mode)
        body = bytes(incoming["body"])
        sha = self.store.sha256(body)
        self._incoming = None
        if sha != incoming["sha"]:
            raise RefusedError("sha", "the profile arrived changed; send it again")
        try:
            values = json.loads(body)
        except (ValueError, RuntimeError):
            # Nested too deeply is a RuntimeError.
            raise RefusedError("json", "the profile is not readable; update the older side") from None
        # Checked whole before it replaces anything; CheckError becomes the answer.
        profile = parse_profile(values, self.controller.rig)
        self.store.put_profile(sha[:12], body)
        self.uploaded = {"name": profile.name, "hash": sha[:12]}
        return self.uploaded

    def _ask_ready(self, data: "Values") -> "Values":
        wanted = data["profile"]
        body = self.store.get_profile(wanted)
        if body is None:
            raise RefusedError("no_profile", "the board holds no profile %s; upload it first" % wanted)
        if self.store.sha256(body)[:12] != wanted:
            raise RefusedError("damaged", "profile %s is damaged on the board; upload it again" % wanted)
        values = json.loads(body)
        profile = parse_profile(values, self.controller.rig)
        run = self.store.next_run()
        self.controller.lay_out(profile, run)
        self.profile_hash = wanted
        self.profile_values = values
        self.controller.preflight = self.check_files
        return {"run": run}

    def check_files(self) -> str:
        """What is wrong with the files of the run that is laid out: "" or "files"."""
        try:
            body = self.store.get_profile(self.profile_hash)
            whole = body is not None and self.store.sha256(body)[:12] == self.profile_hash
            whole = whole and self.store.rig()[1] == self.identity["rig"]
        except (OSError, ValueError, KeyError):
            whole = False
        return "" if whole else "files"

    def _ask_stop(self, data: "Values") -> "Values":
        self.controller.stop()
        return {"mode": self.controller.mode}

    def _ask_next(self, data: "Values") -> "Values":
        self.controller.next()
        return {"mode": self.controller.mode}

    def _ask_pause(self, data: "Values") -> "Values":
        self.controller.pause()
        return {"mode": self.controller.mode}

    def _ask_runs(self, data: "Values") -> "Values":
        runs = self.store.runs()
        first = data.get("from", 0)
        later = [run for run in runs if run[0] >= first]
        return {"runs": later[:RUNS_PER_ANSWER], "more": len(later) > RUNS_PER_ANSWER}

    def _ask_get(self, data: "Values") -> "Values":
        run, at = data["run"], data["at"]
        found = self.store.read_run(run, at, wire.PIECE_BYTES)
        if found is None:
            raise RefusedError("no_run", "the board holds no run %s; list them with runs" % run)
        size, piece = found
        text = binascii.b2a_base64(piece).decode().strip()
        return {"at": at, "size": size, "data": text}
