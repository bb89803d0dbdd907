"""Talking with the board during a step: rows by its own clock, a trial run, how its own proof ended.

Nothing here begins heat: a run is laid out, and waits for the press at the rig.
"""

import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from ribwright_board.core import profile as core_profile
from ribwright_board.core import rig as core_rig
from ribwright_host.errors import FileError, HostError, LinkLostError
from ribwright_host.link import Board, Link, put_profile
from ribwright_host.profiles import canonical_json
from ribwright_host.rigs import RigFile

from .judge import Row, row_of

SILENT_S = 3.0
LISTEN_S = 0.25
ROW_LATE_MS = 2000  # a row is told up to a second after an event of its time
LATE_ROWS = 3  # of the time before, that come after a run was laid out
PRESS_S = 600.0  # real seconds within which somebody presses start
TARGET_C = 60.0
TRIAL = "trial of the rig"
# What lies in the stack, if anything does: dry scrap of the example's side.
PIECE: dict[str, Any] = {
    "kind": "trial",
    "species": "sapele",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "wetted": "dry",
}


@dataclass(frozen=True)
class Outcome:
    """How a start ended: "proved", "refused", "stop", "trip" or "nobody"; the rows from press to end.

    code, zone, seen, limit, unit: of a refusal or a trip; zone is -1 for the rig.
    """

    ended: str
    rows: list[Row]
    code: str = ""
    zone: int = -1
    seen: float = 0.0
    limit: float = 0.0
    unit: str = ""


def _started_anew(last_ms: int) -> LinkLostError:
    """The error for a board whose clock has gone back; last_ms: where it was."""
    seen = f"the board started anew after {last_ms / 1000:.0f} s of its clock"
    return LinkLostError(seen, "check its supply, then go on with this step")


def heated(rig: RigFile) -> list[int]:
    """Positions of the zones that have a relay; rig: the file."""
    return [at for at, zone in enumerate(rig.mapping["zones"]) if zone["relay"] != core_rig.NO_RELAY]


def trial_profile(rig: RigFile, name: str = TRIAL) -> bytes:
    """The bytes of a short, low profile over every zone that heats: a ramp to 60 C, then cooling.

    rig: whose zones; all of one that only watches. name: of the profile. Raises FileError when the rig allows
    no such thing.
    """
    names = [rig.zone_names[zone] for zone in heated(rig)] or rig.zone_names
    stages = [
        {"kind": "ramp", "zones": names, "target": TARGET_C, "longest_min": 10},
        {"kind": "cool", "below": 45},
    ]
    values = {"schema": 1, "name": name, "unit": "C", "piece": PIECE, "stages": stages}
    problems = core_profile.check(values, rig.rig)
    if problems:
        raise FileError(f"{rig.path}: {problems[0].sentence()}", "correct the rig file", code="no_trial")
    return canonical_json(values)


class Trial:
    """The board while a rig is proved.

    link, board: greeted. rig: its file.
    """

    def __init__(self, link: Link, board: Board, rig: RigFile) -> None:
        self.link = link
        self.board = board
        self._rig = rig
        self._profile = ""

    def status(self) -> dict[str, Any]:
        """What the board says of itself now. Raises as Link.ask()."""
        return self.link.ask("status")

    def _tells(self, from_ms: int) -> Iterator[tuple[str, Mapping[str, Any]]]:
        """What the board told from a moment of its clock on, for ever; when it falls silent it is asked.

        Raises LinkLostError when it does not answer, or has started anew.
        """
        heard_s = time.monotonic()
        last_ms, fresh = from_ms, False
        while True:
            for tell in self.link.listen(LISTEN_S):
                at_ms = int(tell.data.get("ms") or 0)
                if fresh and at_ms < last_ms - ROW_LATE_MS:
                    raise _started_anew(last_ms)
                if at_ms < from_ms:
                    continue  # from before, while somebody was at the rig
                fresh, last_ms = True, max(last_ms, at_ms)
                heard_s = time.monotonic()
                yield tell.verb, tell.data
            if time.monotonic() - heard_s > SILENT_S:
                status = self.status()
                now_ms = int(status["ms"])
                if now_ms < last_ms:
                    raise _started_anew(last_ms)
                last_ms = now_ms
                yield "status", status
                heard_s = time.monotonic()

    def rows(self, wait_s: float) -> Iterator[Row]:
        """Rows of the next seconds of the board's own clock. Raises LinkLostError, also after a reset."""
        from_ms = int(self.status()["ms"])
        for verb, data in self._tells(from_ms):
            if verb == "row":
                yield row_of(data)
            if int(data.get("ms") or 0) - from_ms >= wait_s * 1000:
                return

    def lay_out(self) -> None:
        """Put the trial on the board and make a run of it ready. Raises RefusedByBoardError."""
        if not self._profile:
            self._profile = str(put_profile(self.link, trial_profile(self._rig))["hash"])
        self.link.ask("ready", {"profile": self._profile})

    def start(self, press: Callable[[], None], on_row: Callable[[Row], None] | None = None) -> Outcome:
        """Lay out a run, have it started at the rig, see how the board's proof ends; stop a run at once.

        press: has start pressed, returns when it is or is asked for. on_row: called with each row of the
        proof. Raises as Link.ask().
        """
        from_ms = int(self.status()["ms"])
        self.lay_out()
        try:
            press()
            return self._follow(from_ms, on_row)
        except BaseException:
            # Whoever leaves here leaves no run behind that a press would begin.
            with suppress(HostError):
                self.link.ask("stop")
            raise

    def _follow(self, from_ms: int, on_row: Callable[[Row], None] | None) -> Outcome:
        """Look on until the proof has ended; from_ms: of the board's clock. on_row: as start()."""
        rows: list[Row] = []
        idle = 0
        waits_till = time.monotonic() + PRESS_S
        for verb, data in self._tells(from_ms):
            if verb == "event":
                code = str(data.get("code"))
                if code == "proving":
                    rows = []
                elif code == "proved":
                    self.link.ask("stop")
                    return Outcome("proved", rows)
                elif code in ("refused", "trip", "stop"):
                    return self._ended(code, rows)
                continue
            row = row_of(data)
            idle += row.mode == "idle"
            if row.mode == "proving":
                if verb == "row":
                    rows.append(row)
                if on_row:
                    on_row(row)
            elif (verb == "status" and row.mode != "ready") or idle > LATE_ROWS:
                # Its event was lost on the way.
                return self._ended("trip" if row.mode == "tripped" else "refused", rows)
            elif time.monotonic() > waits_till:
                break
        self.link.ask("stop")
        return Outcome("nobody", rows)

    def _ended(self, how: str, rows: list[Row]) -> Outcome:
        status = self.status()
        if status["mode"] in ("running", "paused"):
            self.link.ask("stop")
        why = status.get("trip" if how == "trip" else "refused") or {}
        return Outcome(
            how,
            rows,
            str(why.get("code", "")),
            int(why.get("zone", -1)),
            float(why.get("seen") or 0.0),
            float(why.get("limit") or 0.0),
            str(why.get("unit", "")),
        )
