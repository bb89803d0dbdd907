"""A piece and a pair in plain words, the same for terminal and page."""

from collections.abc import Iterator, Mapping
from typing import Any

from .compare import Figure, verdict
from .listing import SIMULATED, run_line
from .models import WHICH
from .pairs import PieceBook, SideBook, mean_gap
from .quantities import NONE, show_c, show_mm

GAP_COLUMNS = (("gap_upper_mm", "upper bout"), ("gap_waist_mm", "waist"), ("gap_lower_mm", "lower bout"))
HOW_BAD = ("none", "slight", "shows", "lost")
# Gaps closer than a ruler tells apart. PROPOSAL.
SAME_GAP_MM = 0.5
LAY = (
    ("show_face", "show face"),
    ("top_edge", "top edge"),
    ("neck_end", "neck end"),
    ("waist_mark", "waist mark"),
    ("taper", "taper"),
)


def blank_words(side: SideBook, lengths: str = "mm") -> str:
    """The blank in one line.

    side: as read. lengths: "mm" or "in".
    """
    facts = side.facts
    thick = ", ".join(
        show_mm(row["thickness_mm"], lengths)
        + ("" if row["place"] == "all along" else f" at the {row['place']}")
        for row in side.thicknesses
    )
    before_g, after_g = facts["weight_before_g"], facts["weight_after_g"]
    parts = [facts["species"], thick, facts["wetted"]]
    if before_g is not None or after_g is not None:
        weighed = [NONE if value is None else f"{value:.1f} g" for value in (before_g, after_g)]
        parts.append(f"{weighed[0]} before wetting, {weighed[1]} after")
    if facts["moisture_percent"] is not None:
        parts.append(f"{facts['moisture_percent']:g} % moisture")
    if facts["tightest_radius_mm"] is not None:
        parts.append(f"tightest radius {show_mm(facts['tightest_radius_mm'], lengths, decimals=0)}")
    return ", ".join(part for part in parts if part) or "nothing is noted of the blank"


def start_words(side: SideBook, unit: str = "C") -> str:
    """What the maker measured as the bend began, in one line; "" where nothing was.

    side: as read. unit: to show.
    """
    named = (("form_start_c", "form"), ("slat_start_c", "slat"))
    parts = [
        f"{words} {show_c(side.facts[name], unit)}" for name, words in named if side.facts[name] is not None
    ]
    return ", ".join(parts)


def measured_words(row: Mapping[str, Any], lengths: str = "mm") -> str:
    """A measurement in one line.

    row: by column. lengths: "mm" or "in".
    """
    parts = [
        f"{words} {show_mm(row[name], lengths, signed=True)}"
        for name, words in GAP_COLUMNS
        if row[name] is not None
    ]
    if row["twist_deg"] is not None:
        parts.append(f"twist {row['twist_deg']:+.1f} degrees")
    if row["cup_mm"] is not None:
        parts.append(f"cup {show_mm(row['cup_mm'], lengths, signed=True)}")
    if row["hours_on_form"] is not None:
        parts.append(f"{row['hours_on_form']:g} h on the form")
    if row["hours_since_release"] is not None:
        parts.append(f"{row['hours_since_release']:g} h since release")
    return ", ".join(parts + ([row["remark"]] if row["remark"] else []))


def defect_words(row: Mapping[str, Any]) -> str:
    """A defect in a few words.

    row: by column.

    >>> defect_words({"kind": "cracked", "place": "waist", "badness": 2, "remark": None})
    'cracked at the waist, shows'
    """
    place = f" at the {row['place']}" if row["place"] else ""
    remark = f" ({row['remark']})" if row["remark"] else ""
    return f"{row['kind']}{place}, {HOW_BAD[row['badness']]}{remark}"


def sprung_words(piece: PieceBook, lengths: str = "mm") -> str:
    """How the two sides sprang back beside each other, in a sentence.

    piece: a whole pair. lengths: "mm" or "in".
    """
    means = {}
    for which in WHICH:
        rested = piece.sides[which].rested if which in piece.sides else None
        mean = mean_gap(rested) if rested else None
        if mean is None:
            return f"The {which} side has not been measured after rest yet."
        means[which] = mean
    low, high = sorted(WHICH, key=lambda which: means[which])
    told = {which: show_mm(mean, lengths, signed=True) for which, mean in means.items()}
    if means[high] - means[low] <= SAME_GAP_MM:
        return f"After rest both sprang back alike: bass {told['bass']}, treble {told['treble']} on average."
    return f"After rest the {high} side stands further open: {told[high]} on average, {low} {told[low]}."


def piece_lines(piece: PieceBook, unit: str = "C", lengths: str = "mm") -> Iterator[str]:
    """All that the book holds of a piece, for people.

    piece: as read. unit, lengths: to show.
    """
    facts = piece.facts
    mark = f"  {SIMULATED}: no wood was bent" if piece.simulated else ""
    about = f", {facts['instrument']}" if facts["instrument"] else ""
    yield f"{facts['name']}{about}, {facts['made_on'] or 'no date'}{mark}"
    if facts["remark"]:
        yield f"  {facts['remark']}"
    for which, side in piece.sides.items():
        yield f"{which} side"
        yield f"  blank: {blank_words(side, lengths)}"
        lay = [f"{words}: {side.facts[name]}" for name, words in LAY if side.facts[name]]
        if lay:
            yield f"  lay: {'; '.join(lay)}"
        if start_words(side, unit):
            yield f"  at the start, measured: {start_words(side, unit)}"
        if side.facts["remark"]:
            yield f"  remark: {side.facts['remark']}"
        for run in side.runs:
            yield f"  {run_line(run, unit)}"
            if run["laid"]:
                yield f"    laid out as {run['laid']}"
        for row in side.measurements:
            yield f"  {row['noted_on']}: {measured_words(row, lengths)}"
        for row in side.defects:
            yield f"  {defect_words(row)}"
        for row in side.photos:
            yield f"  picture: {row['path']}"


def pair_lines(piece: PieceBook, found: list[Figure], unit: str = "C", lengths: str = "mm") -> Iterator[str]:
    """A comparison for people: the verdict first, then the figures.

    piece, found: the pair and its figures. unit, lengths: to show.
    """
    if piece.simulated:
        yield f"{SIMULATED}: no wood was bent"
    yield verdict(found, unit, lengths)
    yield sprung_words(piece, lengths)
    yield f"{'':26s}{'bass':>12s}{'treble':>12s}{'apart':>12s}{'alike up to':>13s}"
    for one in found:
        cells = (
            one.show(one.bass, unit, lengths),
            one.show(one.treble, unit, lengths),
            one.show_size(one.difference, unit, lengths),
            one.show_size(one.allowed, unit, lengths),
        )
        last = "" if one.alike in (True, None) else "  differs"
        yield f"{one.limit.words:26s}{cells[0]:>12s}{cells[1]:>12s}{cells[2]:>12s}{cells[3]:>13s}{last}"
