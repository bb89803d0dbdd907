"""The pair of the demo: both runs in a notebook of its own, gaps that were made up, and one page to print."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from .book.compare import Figure, verdict
from .book.finding import piece_named, side_of
from .book.intake import Given, take_in
from .book.pages import pair_page
from .book.pairs import whole_piece
from .book.results import measured_from, note
from .book.store import opened
from .book.telling import sprung_words
from .demo_bend import Bent

INVENTED = "the gaps after rest are invented for this demo, nothing was measured"
# What a ruler might show of a pair after two days off the form, mm and hours: invented.
GAPS = {
    "bass": {"upper": "0.6", "waist": "0.4", "lower": "0.5", "since": 48},
    "treble": {"upper": "0.7", "waist": "0.5", "lower": "0.5", "since": 48},
}


@dataclass(frozen=True, slots=True)
class Pair:
    """What the notebook says of both sides. page: to print. verdict, sprung: a sentence each; what sprung
    says rests on invented gaps. figures: of the comparison.
    """

    page: Path
    verdict: str
    sprung: str
    figures: tuple[Figure, ...]

    @property
    def alike(self) -> bool:
        """Whether every figure that is known of both sides counts as alike."""
        return all(one.alike is not False for one in self.figures)


def paired(book: Path, piece: str, sides: Sequence[Bent], out: Path, unit: str) -> Pair:
    """Take both sides into a notebook, enter the invented gaps, compare, and write the page.

    book: the notebook's file. piece: its name. sides: as bent. out: folder of the page. unit: to show. Raises
    FileError.
    """
    with opened(book, make=True):
        for one in sides:
            given = Given(piece, one.hand, {"instrument": "baritone ukulele", "remark": f"Mind: {INVENTED}."})
            take_in(one.csv, given)
            rested = measured_from(GAPS[one.hand] | {"on_form": round(one.on_form_h, 2)})
            note(side_of(piece_named(piece), one.hand), rested, (), INVENTED)
        found = whole_piece(piece_named(piece))
    figures = tuple(found.figures())
    page = pair_page(found, out, unit)
    return Pair(page, verdict(list(figures), unit), sprung_words(found), figures)
