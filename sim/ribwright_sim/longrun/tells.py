"""What the board tells during one run, with the simulation's own time beside the board's."""

from __future__ import annotations

from dataclasses import dataclass, field

from ribwright_board.core.wire import Message

# After these nothing of a run is to come.
ENDINGS = ("done", "stop", "trip", "refused")
# Rows that may have been under way when the board's lowest heap was begun anew.
STALE_ROWS = 3


@dataclass(frozen=True, slots=True)
class Told:
    """One event: its name, the board's ms, the simulation's second at which it came out, figure and text."""

    name: str
    board_ms: int
    at_s: float
    a: int
    text: str


@dataclass
class HeapLow:
    """The lowest free heap told in each span of span_s seconds of the simulation, in bytes.

    The board tells the lowest since its start; whoever begins a span lets it begin anew there.
    """

    span_s: float
    lows: list[int] = field(default_factory=list)
    _stale: int = 0

    def begun(self, second: float) -> bool:
        """Whether a new span begins at this second: then the board's lowest is to be begun anew."""
        if int(second / self.span_s) < len(self.lows):
            return False
        self.lows += [0] * (int(second / self.span_s) + 1 - len(self.lows))
        self._stale = STALE_ROWS
        return True

    def take(self, heap_bytes: int) -> None:
        """Take what a row told; 0 means nothing was seen since."""
        if self._stale > 0:
            self._stale -= 1
        elif heap_bytes and self.lows:
            self.lows[-1] = min(self.lows[-1] or heap_bytes, heap_bytes)


@dataclass
class Tells:
    """Events of the present run, and how many rows of it were told while it ran.

    mode: as the last row said. late_ms: the worst told.
    """

    events: list[Told] = field(default_factory=list)
    running_rows: int = 0
    mode: str = ""
    late_ms: int = 0

    def take(self, message: Message, second: float) -> None:
        """Take one row or event at a second of the simulation.

        message: as the board sent it. second: when it came out.
        """
        data = message.data
        self.mode = str(data["mode"])
        if message.verb == "row":
            self.late_ms = max(self.late_ms, int(data["late_ms"]))
            self.running_rows += self.mode == "running"
            return
        self.events.append(
            Told(str(data["code"]), int(data["ms"]), second, int(data["a"]), str(data["text"]))
        )

    @property
    def ending(self) -> Told | None:
        """The event that ended the run, None while it is on."""
        return next((event for event in self.events if event.name in ENDINGS), None)

    def named(self, name: str) -> list[Told]:
        """Every event of that name."""
        return [event for event in self.events if event.name == name]

    def heat_s(self, cool: int) -> float:
        """Seconds of the simulation with heat allowed: from the end of the proof to the cool stage, or to
        what ended the run before it. cool: number of the cool stage, counted from 1.
        """
        proved = self.named("proved")
        ends = [event for event in self.named("stage") if event.a == cool]
        ends += [] if self.ending is None else [self.ending]
        return ends[0].at_s - proved[0].at_s if proved and ends else 0.0
