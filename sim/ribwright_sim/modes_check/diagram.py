"""The mode table as a picture: a Mermaid state diagram, written between two marks of DEVELOPERS.md."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from ribwright_board.core.modes import HEAT_MODES, MODES, TRANSITIONS

BEGIN = "<!-- mode diagram: written by `python -m ribwright_sim.modes_check --write` -->"
END = "<!-- end of the mode diagram -->"


def mermaid(table: Mapping[tuple[str, str], str] = TRANSITIONS) -> str:
    """The table, (mode, event) -> mode, as a state diagram in Mermaid's text form; trips come last."""
    lines = ["stateDiagram-v2", f"    [*] --> {MODES[0]}: power-on, any reset"]
    for mode in MODES:
        heat = "heat possible" if mode in HEAT_MODES else "off"
        lines.append(f"    {mode}: {mode} ({heat})")
    grouped: dict[tuple[str, str], list[str]] = {}
    for (mode, event), after in table.items():
        if after != mode and (event != "trip"):
            grouped.setdefault((mode, after), []).append(event)
    lines += [f"    {mode} --> {after}: {', '.join(events)}" for (mode, after), events in grouped.items()]
    lines += [
        f"    {mode} --> {table[mode, 'trip']}: trip"
        for mode in MODES
        if table.get((mode, "trip"), mode) != mode
    ]
    return "\n".join(lines)


def block(table: Mapping[tuple[str, str], str] = TRANSITIONS) -> str:
    """Both marks and the picture between them."""
    return f"{BEGIN}\n```mermaid\n{mermaid(table)}\n```\n{END}"


def written(text: str) -> str:
    """A document's text with its picture made new; raises ValueError when a mark is missing, stands twice or
    behind the other.
    """
    if text.count(BEGIN) != 1 or text.count(END) != 1 or text.index(BEGIN) > text.index(END):
        raise ValueError(f"the document needs these two lines, once and in this order: {BEGIN} {END}")
    before, rest = text.split(BEGIN)
    return before + block() + rest.split(END)[1]


def write(path: Path) -> bool:
    """Make a document's picture new; says whether that changed anything.

    path: of the document. Raises ValueError as written().
    """
    text = path.read_text(encoding="utf-8")
    new = written(text)
    if new != text:
        path.write_text(new, encoding="utf-8")
    return new != text
