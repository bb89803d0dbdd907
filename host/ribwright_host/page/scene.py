"""All the page knows of the rig, made of what the board told; nothing here talks to anybody.

Times `now_s` are of this computer's monotonic clock. A figure goes out with the moment it came, so that a
page can tell an old one from a new one.
"""

from collections.abc import Mapping
from typing import Any

from ribwright_board.core.event_words import MEANINGS
from ribwright_host.identity import Board
from ribwright_host.runlog import RunLog
from ribwright_host.view import ON, event_line

from .acts import Known
from .catching_up import longer_s, points_of_log
from .course import Course
from .curve import Curve, Point, Seen, seen_of
from .places import Part, parts_of

# Rows come once a second; a figure older than this is no figure any more.
STALE_S = 3.0
RECENT = 6
# Events that a row tells as well, or that say nothing to a maker at the wood.
QUIET = ("branch_limited", "late", "made_room")


class Scene:
    """The rig as it was last told.

    unit: "C" or "F" to show, None for the board's. lengths_mm: of the blankets, where a rig file is at hand.
    """

    def __init__(self, unit: str | None = None, lengths_mm: Mapping[str, float] | None = None) -> None:
        self._unit = unit
        self._lengths_mm = lengths_mm
        self.board: Board | None = None
        self.parts: list[Part] = []
        self.known = Known()
        self.course: Course | None = None
        self.offered: list[Course] = []
        self.curve = Curve()
        self.linked = False
        self.lost = "not connected yet"
        self.row_at_s: float | None = None
        self.mode = ""
        self.run = self.stage = self.stages = 0
        self.stage_kind = self.waiting = self.cue = ""
        self.profile_hash = ""
        self.seen: list[Seen] = []
        self.trip: Mapping[str, Any] | None = None
        self.refused: Mapping[str, Any] | None = None
        self.recent: list[str] = []
        self.in_stage_s: float | None = None
        self.held_s = 0.0
        self.warned_s: float | None = None
        self.longer_s = 0.0
        self.worst_late_ms = 0
        self._row_ms: int | None = None
        self._work = 0

    @property
    def unit(self) -> str:
        """The unit that is shown."""
        return self._unit or (self.board.unit if self.board else "C")

    @property
    def names(self) -> list[str]:
        """Names of the board's zones."""
        return self.board.zones if self.board else []

    def greet(self, board: Board) -> None:
        """A board has answered.

        board: who it says it is; another one than before begins everything anew.
        """
        if self.board is None or (board.board_id, board.rig) != (self.board.board_id, self.board.rig):
            self.curve.begin(0)
            self.course = None
        self.board = board
        self.parts = parts_of(board.zones, self._lengths_mm)
        # It may carry other firmware by now.
        self.known = Known()
        self.linked, self.lost = True, ""
        self._row_ms = None

    def lose(self, why: str) -> None:
        """The link is gone; what was known of times in the stage is not known any more.

        why: in one line.
        """
        self.linked, self.lost = False, why
        self.in_stage_s = None
        self.warned_s = None

    def offer(self, course: Course) -> None:
        """A profile that may be the one the board runs.

        course: from a file or from the head of a log.
        """
        self.offered.append(course)
        self._choose()

    def _choose(self) -> None:
        found = [course for course in self.offered if course.hash == self.profile_hash]
        self.course = found[-1] if found and self.mode in ON else None

    def lacks_course(self) -> bool:
        """Whether a run is on whose profile is not known here."""
        return self.mode in ("running", "paused") and self.run > 0 and self.course is None

    def lacks_seconds(self) -> bool:
        """Whether seconds of the run that is on were not told here."""
        return self.mode in ("running", "paused") and self.run > 0 and self.curve.broken

    def catch_up(self, log: RunLog) -> None:
        """The log of a run has been read; it fills what was not told, and says since when the stage is on.

        log: as read.
        """
        started_ms = log.header.get("started_ms")
        if log.header.get("run") != self.run or not isinstance(started_ms, int):
            return
        self.curve.fill(started_ms, points_of_log(log))
        began = self.curve.stage_began(self.stage)
        if self.in_stage_s is not None or began is None:
            return
        self._new_stage(0.0)
        self.longer_s = longer_s(log)
        # From the end of the stage before, or of the proof.
        last = Point(self.curve.points[began].at_ms - 1000, [], self.stage, "running")
        for point in self.curve.points[began:]:
            if point.mode == last.mode == "running":
                self._let_pass(self.stage, (point.at_ms - last.at_ms) / 1000, point.seen)
            last = point

    def take(self, verb: str, data: Mapping[str, Any], now_s: float) -> None:
        """One status, row or event.

        verb: "status", "row" or "event". data: its values. now_s: when it came.
        """
        if verb == "event":
            self._event(data)
        elif verb in ("row", "status"):
            self._row(data, now_s)
            if verb == "status":
                profile = data.get("profile")
                self.profile_hash = str(profile.get("hash") or "") if isinstance(profile, dict) else ""
                self.trip, self.refused = (
                    told if isinstance(told := data.get(key), dict) and told else None
                    for key in ("trip", "refused")
                )
            self._choose()

    def _row(self, data: Mapping[str, Any], now_s: float) -> None:
        def number(key: str) -> int:
            value = data.get(key)
            return value if isinstance(value, int) and not isinstance(value, bool) else 0

        self.row_at_s = now_s
        mode, run, stage, at_ms = str(data.get("mode") or ""), number("run"), number("stage"), number("ms")
        if run != self.curve.run:
            self.curve.begin(run)
        if stage != self.stage or run != self.run:
            # A stage whose begin was not told is one whose time is not known.
            self._new_stage(None)
        step_ms = at_ms - self._row_ms if self._row_ms is not None else 0
        self.seen = seen_of(data)
        if mode == "running" and self.mode == "running" and step_ms > 0:
            self._let_pass(stage, step_ms / 1000, self.seen)
        if mode in ("running", "paused"):
            if self.curve.first_ms is None and self.mode != "proving":
                # The page came late: it has not seen this run begin.
                self.curve.broken = True
            self.curve.add(Point(at_ms, self.seen, stage, mode))
        if mode != "tripped":
            self.trip = None
        if mode in ON:
            self.refused = None
        self._row_ms = at_ms
        self.mode, self.run, self.stage, self.stages = mode, run, stage, number("stages")
        self.stage_kind, self.waiting, self.cue = (
            str(data.get(key) or "") for key in ("stage_kind", "waiting", "cue")
        )
        self.worst_late_ms = max(self.worst_late_ms, number("late_ms"))
        self._see_work()

    def _let_pass(self, stage: int, step_s: float, seen: list[Seen]) -> None:
        if self.in_stage_s is not None:
            self.in_stage_s += step_s
        if self.warned_s is not None:
            self.warned_s = max(0.0, self.warned_s - step_s)
        known = self.course.stage(stage) if self.course else None
        if known is not None and self.course is not None and known.target_c is not None:
            names = self.course.zones(known)
            zones = [zone for name, zone in zip(self.names, seen, strict=False) if name in names]
            # The target the board told: a maker may have moved it.
            within = [
                zone.measured_c is not None
                and zone.target_c is not None
                and abs(zone.measured_c - zone.target_c) <= known.band_k
                for zone in zones
            ]
            if within and all(within):
                self.held_s += step_s

    def _new_stage(self, in_stage_s: float | None) -> None:
        self.in_stage_s, self.held_s, self.warned_s, self.longer_s = in_stage_s, 0.0, None, 0.0

    def _event(self, data: Mapping[str, Any]) -> None:
        code = str(data.get("code") or "")
        if code == "stage":
            a = data.get("a")
            self.stage = a if isinstance(a, int) else self.stage
            self._new_stage(0.0)
        elif code == "hold_warning" and isinstance(data.get("a"), int):
            self.warned_s = float(data["a"])
        elif code == "extend" and isinstance(data.get("a"), int):
            # Minutes by which the maker made the stage longer.
            more_s = 60.0 * data["a"]
            self.longer_s += more_s
            self.warned_s = None if self.warned_s is None else self.warned_s + more_s
        if code and code not in QUIET:
            line = event_line(data, self.names, self.unit) if code in MEANINGS else code.replace("_", " ")
            self.recent = [*self.recent, line][-RECENT:]

    def _see_work(self) -> None:
        """The part in work: of those with a target the one whose wood is coolest; else the last such one."""
        with_target = [
            at
            for at, part in enumerate(self.parts)
            if part.zone < len(self.seen) and self.seen[part.zone].target_c is not None
        ]

        def mid(at: int) -> float:
            mid_c = self.seen[self.parts[at].zone].mid_c
            return mid_c if mid_c is not None else 1e9

        if with_target:
            self._work = min(with_target, key=mid)

    @property
    def work(self) -> int:
        """Position of the part in work."""
        return min(self._work, max(0, len(self.parts) - 1))

    @property
    def heat(self) -> str:
        """What flows: "on" where heat did in the last second, "may" where it may, "off" where it cannot."""
        if any(seen.relay_on or seen.duty > 0 for seen in self.seen) and self.mode in ("running", "proving"):
            return "on"
        may = self.mode == "proving" or (self.mode == "running" and self.stage_kind != "cool")
        return "may" if may else "off"

    @property
    def row_ms(self) -> int | None:
        """Board time of the last row, ms."""
        return self._row_ms

    def fresh(self, now_s: float) -> bool:
        """Whether what was told last is new enough to be shown."""
        return self.linked and self.row_at_s is not None and now_s - self.row_at_s <= STALE_S
