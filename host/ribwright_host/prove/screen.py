"""The steps at a terminal: one at a time, with what it shows, what may be connected, and what came of it.

words: of the step in question. record: of the rig so far. result: how the step ended.
"""

import click
from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from .record import PASSED, Record, Result
from .step import LADDER, NAMES, Words

ASKED = (
    ("shows", "shows"),
    ("connected", "connected"),
    ("act", "to do"),
    ("answer", "must answer"),
    ("waits", "waits"),
)
SIMULATED = "SIMULATED: a virtual rig, nothing is heated"


def _pairs() -> Table:
    table = Table.grid(padding=(0, 2), pad_edge=True)
    table.add_column(style="dim", justify="right", no_wrap=True)
    table.add_column(ratio=1)
    return table


def heading(words: Words) -> Text:
    """The line over a step."""
    at = NAMES.index(words.name) + 1
    return Text.assemble((f" {at} of {len(NAMES)}  {words.title}", "bold"), (f"  {words.name}", "dim"))


def introduction(words: Words, *, simulated: bool) -> Group:
    """A step before it begins. simulated: whether the rig is."""
    table = _pairs()
    for field, label in ASKED:
        table.add_row(label, getattr(words, field))
    marked = [Text(f" {SIMULATED}", style="bold magenta")] if simulated else []
    return Group(Text(""), heading(words), *marked, table)


def outcome(words: Words, result: Result) -> Group:
    """A step after it has ended."""
    table = Table(box=None, padding=(0, 2), pad_edge=True, header_style="dim")
    for column in ("seen", "", "limit"):
        table.add_column(column, overflow="fold")
    for figure in result.figures:
        table.add_row(figure.name, f"{figure.seen} {figure.unit}".strip(), figure.limit)
    parts: list[RenderableType] = [table] if result.figures else []
    if result.result == PASSED:
        parts.append(Text(f" passed  {words.name}", style="bold green"))
    else:
        failed = _pairs()
        seen = Text.assemble((f"{result.code}: ", "bold red"), (result.words, "red"))
        failed.add_row(Text("NOT PASSED", style="bold red"), seen)
        failed.add_row("next", words.fails)
        parts.append(failed)
    return Group(*parts)


def overview(record: Record) -> Group:
    """All steps and how each stands."""
    table = Table(box=None, padding=(0, 2), pad_edge=True, header_style="dim")
    for column in ("step", "", "shows", "result", "date"):
        table.add_column(column, overflow="fold")
    for at, words in enumerate(LADDER):
        result = record.steps.get(words.name)
        said = Text("not done", style="dim")
        if result and result.result == PASSED:
            said = Text("passed", style="green")
        elif result:
            said = Text(f"NOT PASSED, {result.code}", style="red")
        date = result.date[:10] if result else ""
        table.add_row(str(at + 1), words.name, words.shows, said, date)
    head = Text(f" Proving {record.rig_name}, rig {record.rig}", style="bold")
    marked = [Text(f" {SIMULATED}", style="bold magenta")] if record.simulated else []
    return Group(head, *marked, table)


class TerminalScreen:
    """Shows the steps on a console. asks: whether a person is there to be asked how to go on."""

    def __init__(self, console: Console, *, asks: bool) -> None:
        self.console = console
        self.asks = asks

    def say(self, text: str) -> None:
        """One line; text: of it."""
        self.console.print(Padding(Text(text), (0, 0, 0, 2)))

    def begin(self, words: Words, record: Record) -> None:
        """As ladder.Screen."""
        self.console.print(introduction(words, simulated=record.simulated))

    def ended(self, words: Words, result: Result) -> None:
        """As ladder.Screen."""
        self.console.print(outcome(words, result))

    def again(self, words: Words) -> bool:
        """As ladder.Screen."""
        return self.asks and click.confirm(f"  Do {words.name} again now?", default=False)

    def go_on(self, words: Words) -> bool:
        """As ladder.Screen."""
        return not self.asks or click.confirm(f"  Go on with {words.name}?", default=True)


class NoScreen:
    """Shows nothing, for programs."""

    def say(self, text: str) -> None:
        """Nothing; text: passed over."""

    def begin(self, words: Words, record: Record) -> None:
        """Nothing."""

    def ended(self, words: Words, result: Result) -> None:
        """Nothing."""

    def again(self, words: Words) -> bool:
        """Never."""
        return False

    def go_on(self, words: Words) -> bool:
        """Always."""
        return True
