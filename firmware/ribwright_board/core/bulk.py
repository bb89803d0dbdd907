"""Whole files over the link, in pieces: a profile to the board, run logs from it."""

import binascii
import json

from . import wire
from .errors import RefusedError
from .record import MAX_HEADER, record_size

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .controller import Controller
    from .shapes import Store, Values

MAX_PROFILE_BYTES = 8192
RUNS_PER_ANSWER = 12
# Seconds of log a run may need: the longest session of heat and a cooling as long as half of it.
LOG_S = 10800


class Bulk:
    """The asks that move files.

    controller: core.controller.Controller. store: the board's files.

    data, of every ask: its values by name, as messages.ASKS lists them for its verb, checked before. What
    is not done raises RefusedError; OSError comes from the flash.

    uploaded: name and hash of the profile that arrived last, None before that.
    """

    def __init__(self, controller: "Controller", store: "Store") -> None:
        self.controller = controller
        self.store = store
        self.uploaded: Values | None = None
        self._incoming: Values | None = None

    def ask_put_open(self, data: "Values") -> "Values":
        """Begin a transfer, or go on with one of the same bytes; the answer says from which byte on."""
        size, sha = data["size"], data["sha"]
        if data["kind"] != "profile":
            raise RefusedError("kind", "only a profile can be put; flash brings everything else")
        if not 0 < size <= MAX_PROFILE_BYTES:
            text = "profile of %d bytes, the board takes up to %d; shorten it" % (size, MAX_PROFILE_BYTES)
            raise RefusedError("size", text)
        incoming = self._incoming
        if incoming is None or incoming["size"] != size or incoming["sha"] != sha:
            incoming = {"size": size, "sha": sha, "body": bytearray()}
            self._incoming = incoming
        return {"at": len(incoming["body"])}

    def ask_put_piece(self, data: "Values") -> "Values":
        """Take one piece; one that is here already, or not next, changes nothing."""
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

    def ask_put_close(self, data: "Values") -> "Values":
        """Check the whole profile, then store it; the answer is its name and hash.

        data: empty. Raises RefusedError, and CheckError for a profile this rig cannot take.
        """
        incoming = self._incoming
        if incoming is None or len(incoming["body"]) != incoming["size"]:
            raise RefusedError("not_whole", "the profile did not arrive whole; send the missing pieces")
        self._rests("upload")
        # As it came: a copy would need as much memory again in one piece.
        body = incoming["body"]
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
        from .profile import parse  # noqa: PLC0415 - a board lets go of it again

        profile = parse(values, self.controller.rig)
        self.store.put_profile(sha[:12], body)
        self.uploaded = {"name": profile.name, "hash": sha[:12]}
        return self.uploaded

    def _rests(self, act: str) -> None:
        """Writing to the flash stops the processor: not while a relay may be on."""
        if self.controller.mode in ("proving", "running", "paused"):
            raise RefusedError("busy", "the rig is %s; %s when the run is over" % (self.controller.mode, act))

    def make_room(self) -> None:
        """The oldest runs give their room to the next one; a flash that takes nothing is found out later."""
        wanted = MAX_HEADER + LOG_S * record_size(len(self.controller.rig.zones))
        try:
            for run in self.store.make_room(wanted):
                self.controller.note("made_room", -1, run)
        except OSError:
            self.controller.note("log_lost")

    def ask_runs(self, data: "Values") -> "Values":
        """Some of the runs, from a number on, and the bytes that are free."""
        runs = self.store.runs()
        first = data.get("from", 0)
        later = [run for run in runs if run[0] >= first]
        return {
            "runs": later[:RUNS_PER_ANSWER],
            "more": len(later) > RUNS_PER_ANSWER,
            "free": self.store.free_bytes(),
        }

    def ask_get(self, data: "Values") -> "Values":
        """One piece of a run's log."""
        run, at = data["run"], data["at"]
        found = self.store.read_run(run, at, wire.PIECE_BYTES)
        if found is None:
            raise RefusedError("no_run", "the board holds no run %s; list them with runs" % run)
        size, piece = found
        text = binascii.b2a_base64(piece).decode().strip()
        return {"at": at, "size": size, "data": text}

    def ask_pin(self, data: "Values") -> "Values":
        """Keep a run whatever comes, or let it make room for new ones again."""
        self._rests("pin")
        self.store.pin_run(data["run"], data["pinned"])
        return {"run": data["run"], "pinned": data["pinned"]}

    def ask_counters(self, data: "Values") -> "Values":
        """What the board has counted in its life, and what it takes off its readings."""
        return {"counters": self.store.counters(), "offsets_k": self.offsets_k()}

    def offsets_k(self) -> list[float]:
        """Per zone what is taken off each reading, K."""
        return [zone.offset_k for zone in self.controller.rig.zones]
