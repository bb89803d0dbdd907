"""A moment of the rig as a screen."""

from typing import Any

from rich.console import Group
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from .link import Board
from .view import ON, View, asks_for, estimate_words, mode_words, shown


def screen(view: View, board: Board, unit: str, recent: list[str]) -> Group:
    """The moment as a screen.

    view: a moment. board: who tells it. unit: "C" or "F". recent: last events, as lines.
    """
    table = Table(expand=False, pad_edge=False, box=None)
    for column in ("zone", "target", "measured", "heat", "relay"):
        left = column in ("zone", "relay")
        table.add_column(column, justify="left" if left else "right", min_width=8)
    wood = any(zone.mid_wood_c is not None for zone in view.zones)
    if wood:
        table.add_column("middle of the wood, estimate")
    for zone in view.zones:
        measured = (
            Text("no reading", "bold red") if zone.measured_c is None else Text(shown(zone.measured_c, unit))
        )
        relay = Text("on", "bold yellow") if zone.relay_on else Text("off", "dim")
        cells: list[Any] = [Text(zone.name), shown(zone.target_c, unit), measured, f"{zone.duty:.0%}", relay]
        if wood:
            mid_c = zone.mid_wood_c
            cells.append("-" if mid_c is None else estimate_words(mid_c, zone.band_k, unit))
        table.add_row(*cells)
    stage = (
        f"  stage {view.stage} of {view.stages}, {view.stage_kind}" if view.mode in ON and view.stage else ""
    )
    head = Text(mode_words(view.mode), "bold red" if view.trip else "bold")
    head.append(stage, "not bold default")
    parts: list[Any] = [head, Text(), table]
    wish = asks_for(view)
    if wish:
        parts += [Text(), Text(wish, "bold red" if view.trip else "bold cyan")]
    parts += [Text(), *(Text(line, "dim") for line in recent[-4:])]
    title = f"SIMULATED - {board.rig_name}" if board.simulated else board.rig_name
    return Group(
        Panel(
            Group(*parts),
            title=Text(title),
            title_align="left",
            subtitle=Text("n next, p pause, s stop; Ctrl-C leaves, the rig goes on"),
        )
    )
