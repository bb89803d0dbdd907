"""What is due once a second, one piece in each tick, so that no tick is long.

The figures are taken when the second ends; then every zone's judge looks at it, every zone's wood follows,
and the row is told. Nine ticks are enough for four zones.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .course import Course
    from .drive import Drive
    from .jury import Jury
    from .senses import Senses

NONE_LEFT = -1
# Modes in which no run is under way: what it was no longer counts.
REST_MODES = ("idle", "tripped")


class Rounds:
    """The seconds of one rig.

    drive, jury, senses: of the rig.

    row_due: all of a second's figures are ready in `drive.figures`; cleared by the caller. row_ms, row_mode,
    row_stage: when that second ended, and in which mode and stage.
    """

    def __init__(self, drive: "Drive", jury: "Jury", senses: "Senses") -> None:
        self.row_due = False
        self.row_ms = 0
        self.row_mode = "idle"
        self.row_stage = 0
        self._drive = drive
        self._jury = jury
        self._senses = senses
        self._zones = len(senses.held)
        self._off = [0.0] * self._zones
        self._at = NONE_LEFT
        self._told = False
        self._course: Course | None = None
        self._shares = self._off
        self._span_ms = 0

    def tick(
        self,
        mode: str,
        course: "Course | None",
        targets_c: list[float | None] | None,
        powered: bool,
        now_ms: int,
    ) -> None:
        """End a second where one ends, else do the next piece of the last one.

        mode: of the rig. course: the run that is laid out, or None. targets_c: per zone, C or None; None as a
        whole while no profile drives. powered: the contactor was held closed. now_ms: present time.
        """
        drive = self._drive
        if not drive.second_due(now_ms):
            self._piece(now_ms)
            return
        # Ticks that were missed leave pieces over, and the figures they need are about to change.
        self._finish(now_ms)
        self._span_ms = drive.second(self._senses.newest_c, self._senses.held, mode == "running", now_ms)
        self.row_ms = now_ms
        self.row_mode = mode
        self.row_stage = max(0, course.runner.index) if course is not None else 0
        # While the contactor is open nothing flows, whatever the relays do.
        self._shares = drive.shares if powered else self._off
        self._jury.begin(targets_c, self._shares, powered, self._span_ms)
        # Until the press the strip may still lie on the bench.
        self._course = None if mode in REST_MODES or mode == "ready" else course
        self._at = 0
        self._told = False

    def tell(self) -> None:
        """Have the row of the last second told now: what ends takes it along. Its judges speak when it is
        their turn.
        """
        if self._at != NONE_LEFT and not self._told:
            self.row_due = self._told = True

    def _finish(self, now_ms: int) -> None:
        while self._at != NONE_LEFT:
            self._piece(now_ms)

    def _piece(self, now_ms: int) -> None:
        at, zones = self._at, self._zones
        if at == NONE_LEFT:
            return
        course = self._course
        self._at = at + 1
        if at < zones:
            self._jury.judge(at, now_ms)
        elif at < 2 * zones:
            mid_c = None
            if course is not None:
                woods = course.woods
                woods.zone_second(at - zones, self._jury.means_c, self._senses, self._shares, self._span_ms)
                mid_c = woods.mids_c[at - zones]
            self._drive.figures.estimate(at - zones, mid_c)
        else:
            self.tell()
            self._at = NONE_LEFT
