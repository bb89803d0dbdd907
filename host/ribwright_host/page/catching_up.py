"""What went by before the page came, or while the link was gone: the run's log, read beside the run.

One small piece at a time, so that a stop, an act or a row never waits for more than one of them.
"""

from typing import Any

from ribwright_board.core import record
from ribwright_board.core.errors import CoreError
from ribwright_host.link import Link, get_run
from ribwright_host.runlog import RunLog, read_log

from .curve import Point, Seen

# Layout, then the length of the head, then the head itself and its check (core.record).
HEAD_AT, HEAD_EXTRA = 6, 10


class CatchUp:
    """The reading of one run's log.

    run: its number.
    """

    def __init__(self, run: int) -> None:
        self.run = run
        self._data = b""
        self._head_told = False

    def piece(self, link: Link) -> tuple[list[tuple[str, Any]], bool]:
        """Ask for one more piece; what is whole by now ("head" with its values, "log" with the run), and
        whether that was all. Raises as Link.ask().

        link: to the board.
        """
        before = len(self._data)
        self._data = get_run(link, self.run, self._data, limit=before + 1)
        found: list[tuple[str, Any]] = []
        if not self._head_told and (head := self._head()) is not None:
            self._head_told = True
            found.append(("head", head))
        if len(self._data) > before:
            return found, False
        if self._head_told:
            found.append(("log", read_log(self._data)))
        return found, True

    def _head(self) -> dict[str, Any] | None:
        data = self._data
        if len(data) < HEAD_AT or not record.layout_of(data):
            return None
        if len(data) < HEAD_EXTRA + int.from_bytes(data[4:HEAD_AT], "little"):
            return None
        try:
            header = record.read_header(data)[0]
        except CoreError:
            return None
        return header if isinstance(header, dict) else None


def points_of_log(run: RunLog) -> list[Point]:
    """The seconds of a log by the board's own clock, as if each had been told.

    run: as read. Empty where the log does not say when it began.
    """
    started_ms = run.header.get("started_ms")
    if not isinstance(started_ms, int):
        return []
    found = []
    for row in run.rows:
        zones = [
            Seen(
                zone.target_c,
                zone.measured_c,
                zone.duty or 0.0,
                bool(zone.relay_on_ms),
                zone.mid_wood_c,
                run.wood_bands_k.get(name, 0.0),
            )
            for name, zone in zip(run.zones, row.zones, strict=True)
        ]
        stage = -1 if row.stage is None else row.stage
        found.append(Point(started_ms + row.at_ms, zones, stage + 1, row.mode))
    return found


def longer_s(run: RunLog) -> float:
    """By how much the maker has made the log's last stage longer, s.

    run: as read.
    """
    longer = 0.0
    for event in run.events:
        longer = 0.0 if event.name == "stage" else longer
        if event.name == "extend":
            longer += 60.0 * event.a
    return longer
