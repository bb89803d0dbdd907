"""What is drawn behind a run: the band of a rehearsal, and the last run of this piece."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ribwright_board.core.units import in_unit
from ribwright_host.errors import FileError
from ribwright_host.logbook import read_run, started_text

# Further back is another instrument's time.
MOST_SECONDS = 6 * 3600
STEP_S = 5


@dataclass(frozen=True)
class Last:
    """An earlier run. words: which. lines: by zone, points of seconds and reading, C or None."""

    words: str
    lines: Mapping[str, Sequence[tuple[float, float | None]]]


@dataclass
class Behind:
    """What is known of the run from elsewhere. rehearsal: a rehearsal's figures, None without."""

    rehearsal: Mapping[str, Any] | None = None
    last: Last | None = None
    _lengths: dict[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for stage in (self.rehearsal or {}).get("stages", ()):
            start_s, end_s = stage.get("start_s"), stage.get("end_s")
            if start_s is not None and end_s is not None:
                self._lengths[int(stage["number"])] = float(end_s) - float(start_s)

    def _fits(self, profile_hash: str) -> bool:
        return self.rehearsal is not None and self.rehearsal.get("profile_hash") == profile_hash

    def lengths_s(self, profile_hash: str) -> Mapping[int, float]:
        """How long each stage took in the rehearsal, s by number; empty for another profile.

        profile_hash: of the run.
        """
        return self._lengths if self._fits(profile_hash) else {}

    def band(self, profile_hash: str, parts: Sequence[str], unit: str) -> dict[str, Any]:
        """Seconds, and low and high of the middle of the wood by part; empty for another profile.

        profile_hash: of the run. parts: names; a rehearsal's columns bear the same. unit: "C" or "F".
        """
        if not self._fits(profile_hash) or self.rehearsal is None:
            return {}
        series = self.rehearsal["series"]
        columns = series["columns"]

        def shown(values: Sequence[float | None]) -> list[float | None]:
            return [None if value is None else round(in_unit(value, unit), 1) for value in values]

        return {
            "time": series["time_s"],
            "parts": {
                name: {end: shown(columns[name]["mid_c"][end]) for end in ("low", "high")}
                for name in parts
                if name in columns
            },
        }

    @property
    def last_words(self) -> str:
        """Which run the last one was, "" without one."""
        return self.last.words if self.last else ""

    def last_lines(self, zones: Sequence[str], unit: str) -> dict[str, Any]:
        """The last run's line of each of these zones that it had.

        zones: names. unit: "C" or "F".
        """
        if self.last is None:
            return {}
        return {
            name: [
                [at_s, None if value is None else round(in_unit(value, unit), 1)]
                for at_s, value in self.last.lines[name]
            ]
            for name in zones
            if name in self.last.lines
        }


def read_rehearsal(path: Path) -> dict[str, Any]:
    """The figures of a rehearsal, as `ribwright rehearse` wrote them.

    path: its JSON. Raises FileError.
    """
    hint = "name the rehearsal.json that ribwright rehearse wrote"
    where = {"file": str(path)}
    try:
        figures = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise FileError(f"{path} cannot be read ({error.strerror})", hint, where=where) from error
    except ValueError as error:
        raise FileError(f"{path} is no JSON ({error})", hint, where=where) from error
    try:
        length = len(figures["series"]["time_s"])
        bands = [
            values
            for column in figures["series"]["columns"].values()
            for end, values in column["mid_c"].items()
            if end in ("low", "high")
        ]
        whole = all(len(values) == length for values in bands) and isinstance(figures["profile_hash"], str)
        numbers = [stage["number"] for stage in figures["stages"]]
    except (KeyError, TypeError, AttributeError):
        whole, numbers = False, []
    if not whole or not all(isinstance(number, int) for number in numbers):
        raise FileError(f"{path} is not the figures of a rehearsal", hint, where=where)
    return dict(figures)


def last_from_file(path: Path) -> Last:
    """An earlier run from its CSV or the board's log.

    path: the file. Raises FileError as read_run().
    """
    run = read_run(path)
    first_ms = next((row.at_ms for row in run.rows if row.mode == "running"), 0)
    lines: dict[str, list[tuple[float, float | None]]] = {name: [] for name in run.zones}
    for row in run.rows:
        at_s = (row.at_ms - first_ms) / 1000
        if 0 <= at_s <= MOST_SECONDS and round(at_s) % STEP_S == 0:
            for name, zone in zip(run.zones, row.zones, strict=True):
                lines[name].append((at_s, zone.measured_c))
    mark = "SIMULATED, " if run.simulated else ""
    started = started_text(run.started_unix)
    when = started[:10] if started else path.name
    return Last(f"run {run.word('run')} ({mark}{when})", lines)
