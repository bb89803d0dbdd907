"""Looking on while a run goes: a screen, one line for every change, or JSON; it changes nothing by itself."""

import json
import time
from collections.abc import Callable, Mapping
from typing import Any

import click
from rich.console import Group
from rich.live import Live

from ribwright_board.core.errors import FAULTS

from .acts import again_words, stage_again
from .cli_keys import Keys
from .errors import RefusedByBoardError, TrippedError
from .link import Board, Link
from .runrows import WATCHED_ROWS
from .screen import screen
from .view import (
    ON,
    View,
    event_line,
    interrupted_line,
    plain_line,
    refusal_words,
    trip_line,
    view_of,
)

__all__ = ["Watcher", "event_line", "watch_run"]

# Rows come once a second; after this long without one the board is asked, which finds a lost link.
SILENT_S = 3.0
LISTEN_S = 0.25
KEYS = {"n": "next", "p": "pause", "s": "stop"}

# A board does not say that it only watches. One that gave no heat for so many seconds to zones below their
# target has no say in the heat.
ELSEWHERE = " No relay of this rig came on: it ends no heat from elsewhere, switch that off yourself."

OUTCOMES = {
    "done": "ended as its profile says",
    "stop": "was stopped",
    "refused": "did not begin",
}


class Watcher:
    """Turns what the board tells into lines or a screen, and knows when the run is over.

    board: greeted. unit: "C" or "F" to show. style: "screen", "plain" or "json".
    """

    def __init__(self, board: Board, unit: str, style: str) -> None:
        self.board = board
        self.unit = unit
        self.style = style
        self.was_on = False
        self.cold_rows = 0
        self.heated = False
        self.over = False
        self.view: View | None = None
        self.recent: list[str] = []
        self.outcome = ""
        self.refused = ""
        self.refusal: Mapping[str, Any] = {}
        self.interrupted = ""
        # Messages that made no sense, each told once.
        self.odd: set[str] = set()
        # Stages seen so far, and the last one: a board that has tripped is in none.
        self.kinds: dict[int, str] = {}
        self.stage = 0

    def take(self, verb: str, data: Mapping[str, Any]) -> None:
        """One status, row or event; one that makes no sense is told, and the watching goes on.

        verb: "status", "row" or "event". data: its values.
        """
        try:
            self._take(verb, data)
        except (KeyError, IndexError, TypeError, ValueError, AttributeError, OverflowError) as error:
            self._odd(verb, error)

    def _odd(self, verb: str, error: Exception) -> None:
        """Say that a message makes no sense: the first of its kind, since a board may send one a second."""
        seen = f"{verb} ({type(error).__name__}: {error})"
        if seen in self.odd:
            return
        self.odd.add(seen)
        line = f"a message of the board makes no sense and is passed over: {seen}; figures may be missing"
        self.recent = [*self.recent, line][-8:]
        if self.style != "screen":
            click.echo(line, err=True)

    def _take(self, verb: str, data: Mapping[str, Any]) -> None:
        if self.style == "json":
            click.echo(json.dumps({"tell": verb, "simulated": self.board.simulated, **data}, sort_keys=True))
        if verb == "event":
            line = event_line(data, self.board.zones, self.unit)
            if data.get("code") in OUTCOMES:
                self.outcome = str(data["code"])
                self.refused = str(data.get("text", ""))
            self.recent = [*self.recent, line][-8:]
            if self.style == "plain":
                click.echo(f"{'SIMULATED ' if self.board.simulated else ''}{line}")
            return
        if verb not in ("row", "status"):
            return
        if verb == "status":
            self.interrupted = interrupted_line(data)
        before, self.view = self.view, view_of(data, self.board.zones)
        if self.style == "plain" and (before is None or before.state() != self.view.state()):
            click.echo(plain_line(self.view, self.unit, simulated=self.board.simulated))
        if self.view.stage:
            self.stage, self.kinds[self.view.stage] = self.view.stage, self.view.stage_kind
        self.was_on = self.was_on or self.view.mode in ON
        self.cold_rows += self.view.mode == "running" and any(zone.unheated for zone in self.view.zones)
        self.heated = self.heated or any(zone.duty > 0 or zone.relay_on for zone in self.view.zones)
        self.over = self.view.mode not in ON

    def end(self, at: str = "") -> None:
        """Say how it ended. Raises TrippedError after a trip. at: as watch_run()."""
        view = self.view
        if view is not None and view.trip:
            seen, _, hint = trip_line(view.trip).partition("; ")
            if self.cold_rows >= WATCHED_ROWS and not self.heated:
                hint += ELSEWHERE
            again = stage_again(self.kinds, self.stage, str(view.trip.get("code")))
            hint = " ".join(filter(None, (hint, again_words(again))))
            raise TrippedError(seen, hint, where={"trip": view.trip, "run": view.run, "from_stage": again})
        if self.outcome == "refused":
            advice = FAULTS[self.refused][1] if self.refused in FAULTS else "look at the rig"
            what = refusal_words(self.refusal, self.board.zones) or self.refused
            seen = f"the rig looked itself over and does not begin ({what})"
            raise RefusedByBoardError(seen, advice, code="not_proved")
        if self.style == "json":
            return
        if self.was_on and view is not None:
            outcome = OUTCOMES.get(self.outcome, "is over")
            click.echo(f"Run {view.run} {outcome}. Read it back with: ribwright fetch {view.run}{at}")
        else:
            if self.interrupted:
                click.echo(self.interrupted)
            click.echo(f"No run is on. Make one ready with: ribwright start{at}")


def watch_run(link: Link, board: Board, unit: str, style: str, at: str = "") -> None:
    """Show a run until it ends.

    link, board: greeted. unit: "C" or "F" to show. style: "screen", "plain" or "json". at: how the next step
    names the board, as port_words().
    Raises TrippedError when it ends by a trip, LinkLostError when the link breaks.
    """
    watcher = Watcher(board, unit, style)
    take_status(link, watcher)
    if style == "screen":
        _on_screen(link, watcher)
    else:
        while not watcher.over:
            _listen(link, watcher)
    if watcher.outcome == "refused":
        # The event has room for the cause alone; the board also knows where, what was seen and the limit.
        watcher.refusal = link.ask("status").get("refused") or {}
    watcher.end(at)


def take_status(link: Link, watcher: Watcher) -> None:
    """Ask how things are, and for the words of a trip, which rows have no room for.

    link: to the board. watcher: takes the answer.
    """
    status = link.ask("status")
    if isinstance(status.get("trip"), dict):
        status["trip"]["text"] = link.ask("trip").get("text")
    watcher.take("status", status)


def _no_keys() -> str:
    return ""


def _listen(link: Link, watcher: Watcher, keys: Callable[[], str] = _no_keys) -> None:
    """Take what comes, and keys; ask when nothing comes for a while."""
    end = time.monotonic() + SILENT_S
    while time.monotonic() < end:
        tells = link.listen(LISTEN_S)
        for tell in tells:
            watcher.take(tell.verb, tell.data)
        for key in keys():
            _obey(link, watcher, key)
        if tells:
            if watcher.view and watcher.view.mode == "tripped" and not watcher.view.trip:
                take_status(link, watcher)
            return
    take_status(link, watcher)


def _obey(link: Link, watcher: Watcher, key: str) -> None:
    """One key of the maker: only for less heat, or for going on. A refusal is shown, the watching goes on."""
    verb = KEYS.get(key)
    if verb is None:
        return
    try:
        link.ask(verb)
    except RefusedByBoardError as error:
        watcher.recent.append(error.line())


def _on_screen(link: Link, watcher: Watcher) -> None:
    def now() -> Group | str:
        return screen(watcher.view, watcher.board, watcher.unit, watcher.recent) if watcher.view else ""

    # Drawn only when something came: an idle screen costs nothing.
    with Keys() as keys, Live(now(), auto_refresh=False) as live:
        while not watcher.over:
            _listen(link, watcher, keys.pressed)
            live.update(now(), refresh=True)
