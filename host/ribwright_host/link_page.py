"""The page about the link, written from the table of messages.

`python -m ribwright_host.link_page --write` writes it. Without --write it only says whether firmware/LINK.md
is what the table makes of it; exit code 1 when not.
"""

import sys
import tomllib
from pathlib import Path

from ribwright_board.core import wire
from ribwright_board.core.event_words import MEANINGS
from ribwright_board.core.events import EVENTS
from ribwright_board.core.messages import ASKS, TELLS

from .written_page import keep

WORDS = Path(__file__).parent / "templates" / "link_words.toml"
PAGE = Path(__file__).resolve().parents[2] / "firmware" / "LINK.md"
KINDS = {"whole": "whole number", "text": "text", "flag": "true or false", "any": "see its meaning"}
SOURCE = (
    "Written from `core/messages.py` by `python -m ribwright_host.link_page --write`; change the table or "
    "its words, never this page."
)
SIZES = (
    f"This is version {wire.PROTOCOL}. A line has at most {wire.MAX_LINE} bytes, a piece of a file at most "
    f"{wire.PIECE_BYTES}."
)


def _bounds(kind: str, least: int, most: int) -> str:
    plain = kind.removesuffix("?")
    words = KINDS[plain]
    if plain == "whole":
        words += f", {least} to {most}"
    if plain == "text":
        words += f" of {most} characters" if least == most else f" of {least} to {most} characters"
    return words + (", may be left out" if kind.endswith("?") else "")


def _row(*cells: str) -> str:
    return "| " + " | ".join(cells) + " |"


def page() -> str:
    """The whole page as Markdown.

    Raises KeyError when a message, a field or an answer has no words, ValueError when words are left over.
    """
    table = tomllib.loads(WORDS.read_text(encoding="utf-8"))
    used: set[tuple[str, str]] = set()

    def meaning(group: str, name: str) -> str:
        used.add((group, name))
        return str(table[group][name])

    lines = [
        "# The link between computer and board",
        "",
        SOURCE,
        "",
        *str(table["shape"]["text"]).strip().splitlines(),
        "",
        SIZES,
        "",
        "## Asks",
    ]
    for verb, (fields, answers) in ASKS.items():
        lines += ["", f"### {verb}", "", meaning("asks", verb), ""]
        if fields:
            lines += [_row("field", "kind", "meaning"), _row("---", "---", "---")]
            for name, kind, least, most in fields:
                lines.append(
                    _row(f"`{name}`", _bounds(kind, least, most), meaning("fields", f"{verb}.{name}"))
                )
            lines.append("")
        lines += [_row("answer", "meaning"), _row("---", "---")]
        lines += [_row(f"`{name}`", meaning("answers", name)) for name in answers]
    lines += ["", "## What the board tells unasked"]
    for verb, names in TELLS.items():
        lines += [
            "",
            f"### {verb}",
            "",
            meaning("tells", verb),
            "",
            _row("value", "meaning"),
            _row("---", "---"),
        ]
        lines += [_row(f"`{name}`", meaning("answers", name)) for name in names]
    lines += [
        "",
        "## Events",
        "",
        "`code` of an event, and its number in the run log.",
        "",
        _row("number", "code", "meaning"),
        _row("---", "---", "---"),
    ]
    lines += [_row(str(number), f"`{name}`", MEANINGS[name]) for name, number in EVENTS.items()]
    left = {(group, name) for group in table if group != "shape" for name in table[group]} - used
    if left:
        raise ValueError(f"words for nothing in the table: {sorted(left)}")
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Write the page, or say whether it is up to date; the exit code.

    arguments: of the command line, None for the process's own; with --write it is written.
    """
    return keep(PAGE, page(), "ribwright_host.link_page", arguments)


if __name__ == "__main__":
    sys.exit(main())
