"""One step: its words, what it works with, and how it says no."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ribwright_host.link import Board, Link
from ribwright_host.rigs import RigFile

from .hands import Hands
from .person import Key, Person
from .record import Figure
from .trial import Trial, heated

WORDS_FILE = Path(__file__).parents[1] / "templates" / "prove_words.toml"
WORDS: dict[str, Any] = tomllib.loads(WORDS_FILE.read_text(encoding="utf-8"))

REST_S = 15.0


@dataclass(frozen=True)
class Words:
    """What a step says of itself. name: its word. title: its line in the heading. shows: its purpose.
    connected: what may be connected, and what not. act: what to do. answer: what the board or the meter must
    say. waits: how long for. fails: what to do when it does not.
    """

    name: str
    title: str
    shows: str
    connected: str
    act: str
    answer: str
    waits: str
    fails: str


LADDER = [Words(**entry) for entry in WORDS["step"]]
NAMES = [words.name for words in LADDER]


class StepFailedError(Exception):
    """A step was not passed. code: a short word, a fault's code where the board gave one. seen: what was
    seen, the limit, the unit and where.
    """

    def __init__(self, code: str, seen: str) -> None:
        super().__init__(seen)
        self.code = code
        self.seen = seen


@dataclass
class Work:
    """What a step works with.

    rig: the file. person: who answers. show: one line for people. connect: greets the board, once.
    figures: what was seen in this step. offsets_k: per zone what it found it to show too much, K,
    beside fixed_point.
    """

    rig: RigFile
    person: Person
    show: Callable[[str], None]
    connect: Callable[[], tuple[Link, Board, Hands]]
    figures: list[Figure] = field(default_factory=list)
    offsets_k: list[float] = field(default_factory=list)
    fixed_point: str = ""
    _hands: Hands = field(default_factory=Hands)
    _trial: Trial | None = None

    @property
    def trial(self) -> Trial:
        """The board, greeted when it is first needed. Raises the errors of greeting."""
        if self._trial is None:
            link, board, self._hands = self.connect()
            self._trial = Trial(link, board, self.rig)
        return self._trial

    @property
    def hands(self) -> Hands:
        """Who acts at a virtual rig; it is started when it is first needed."""
        self.trial  # noqa: B018 - greets
        return self._hands

    def at_rest(self) -> None:
        """Have the board idle; a shutdown that stands is acknowledged at the rig. Raises StepFailedError."""
        status = self.trial.status()
        if status["mode"] == "tripped":
            code = str((status.get("trip") or {}).get("code", ""))
            touch = "Touch the junction, so that its reading moves. " if code == "frozen" else ""
            press = "Press start AT THE RIG: it acknowledges the shutdown, and begins nothing."
            self.person.done(f"{touch}{press}")
            self.hands.press("start")
            for row in self.trial.rows(REST_S):
                if row.mode != "tripped":
                    break
            status = self.trial.status()
        if status["mode"] == "idle":
            return
        code = str((status.get("trip") or {}).get("code", "busy"))
        raise StepFailedError(code, f"the rig is {status['mode']} ({code}), it must be idle for this step")

    @property
    def zones(self) -> list[str]:
        """Names of all zones."""
        return self.rig.zone_names

    @property
    def heated(self) -> list[int]:
        """Positions of the zones that heat."""
        return heated(self.rig)

    def note(self, name: str, seen: object, unit: str = "", limit: str = "", source: str = "") -> None:
        """Keep one thing seen for the sheet.

        name: what was looked at. seen: what it was, written as text. unit, limit, source: as Figure, "" for
        none.
        """
        self.figures.append(Figure(name, str(seen), unit, limit, source))

    def yes(self, key: Key, question: str, seen_else: str, code: str = "seen") -> None:
        """Ask for a yes, and note what was said.

        key, question: as Person. seen_else, code: words and code of the StepFailedError that a no raises.
        """
        said = self.person.choice(key, question, ("yes", "no"))
        self.note(question, said, "", "yes", "seen by the person")
        if said != "yes":
            raise StepFailedError(code, seen_else)

    def measure(
        self, key: Key, name: str, unit: str, limits: tuple[float, float], source: str, code: str
    ) -> float:
        """Ask for a measured figure within limits, both ends in; the figure. Raises StepFailedError.

        key, name, unit: as Person. limits: least and most, infinite for none. source: of the limits.
        code: word of a figure beyond them.
        """
        seen = self.person.number(key, name, unit)
        least, most = limits
        words = f"{least:g} to {most:g} {unit}"
        if most == float("inf"):
            words = f"{least:g} {unit} or more"
        elif least == 0.0:
            words = f"{most:g} {unit} or less"
        self.note(name, f"{seen:g}", unit, words, source)
        if not least <= seen <= most:
            raise StepFailedError(code, f"{name} is {seen:g} {unit}, it must be {words}")
        return seen
