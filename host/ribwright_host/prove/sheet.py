"""The sheet: what has been shown of a rig, when, with figures, limits and sources, on a page to print."""

from pathlib import Path

from ribwright_board import __version__
from ribwright_host.inline import page_templates
from ribwright_host.writing import unwritable

from .ladder import now_text
from .record import Record
from .step import LADDER

NAME = "prove.html"
OFFSETS = "boiling"


def page(record: Record) -> str:
    """The sheet as HTML that needs nothing else; record: of the rig."""
    return (
        page_templates()
        .get_template("prove.html.j2")
        .render(
            record=record,
            ladder=LADDER,
            missing=[words.name for words in LADDER if not record.passed(words.name)],
            offsets=record.passed(OFFSETS),
            date=now_text(),
            version=__version__,
        )
    )


def write(record: Record, folder: Path) -> Path:
    """Write the sheet; its path. record: of the rig. folder: made when absent. Raises FileError."""
    path = folder / NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(page(record), encoding="utf-8")
    except OSError as error:
        raise unwritable(path, error, "name another folder with --out") from error
    return path
