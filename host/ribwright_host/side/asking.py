"""How the strips of a pair lie, by asking in the words of the trade."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import tomlkit

from ribwright_board.core.rig_values import Rig
from ribwright_host.profiles import problem_errors, problems_of, raise_first
from ribwright_host.toml_lines import find_lines

from .facts import FORMS, HANDS, KEY, POINTS, Values

if TYPE_CHECKING:
    from ribwright_host.new import Asker

# The example's own lines on it, in place of which the answers stand.
MARKER = "# How the strips lie"
# Where waists are, from the neck end, as a share of the side: common practice, no source.
WAIST_SHARE = 0.44


def answers_of(asker: "Asker", piece: Mapping[str, Any], length: Any) -> Values | None:  # noqa: ANN401
    """What is answered of how the strips lie; None where that shall stay open, as it is suggested.

    asker: who is asked. piece: its length_mm and width_mm make suggestions. length: click type of a length.
    """
    wanted = asker.ask(
        "Mark how the strips lie, so that bass and treble are drawn", "no", click.Choice(["yes", "no"])
    )
    if wanted != "yes":
        return None
    at_mm = 5 * round(WAIST_SHARE * float(piece["length_mm"]) / 5)
    width_mm = float(piece["width_mm"])
    questions: tuple[tuple[str, str, Any, Any], ...] = (
        ("hand", "Which side do you bend first", HANDS[0], click.Choice(HANDS)),
        ("show_face", "Your mark on the show face, the one outside on the instrument", "cross", str),
        ("top_edge", "Your mark on the top edge, the one at the soundboard", "line", str),
        (
            "neck_end",
            "Where the neck end of the form points, from where you stand",
            "left",
            click.Choice(POINTS),
        ),
        ("form", "The form lies inside the bend, or outside it", FORMS[0], click.Choice(FORMS)),
        ("waist_mark_mm", "The waist, from the neck end (mm, or say in)", float(at_mm), length),
        ("neck_width_mm", "Width at the neck end (mm, or say in)", width_mm, length),
        ("tail_width_mm", "Width at the tail end (mm, or say in)", width_mm, length),
    )
    return {key: asker.ask(question, suggestion, kind) for key, question, suggestion, kind in questions}


def side_text(stated: Mapping[str, Any]) -> str:
    """A profile's [side] as text, what one hand has of its own below it.

    stated: the table.
    """
    tables = {"": stated} | {f".{hand}": stated[hand] for hand in HANDS if hand in stated}
    parts = []
    for name, table in tables.items():
        pairs = [(key, value) for key, value in table.items() if not isinstance(value, Mapping)]
        lines = [f"{key} = {tomlkit.item(value).as_string()}" for key, value in pairs]
        parts.append("\n".join((f"[{KEY}{name}]", *lines)) + "\n")
    return f"{MARKER}; the board does not get this, `ribwright start --side` draws it.\n" + "\n".join(parts)


def with_side(asker: "Asker", profile: Any, path: Path, rig: Rig, length: Any) -> str:  # noqa: ANN401
    """Text of a first profile with what was answered of how its strips lie.

    asker: who is asked; who takes every suggestion leaves it out. profile: tomlkit document, good by itself.
    path: it goes to, for errors. rig: checked. length: click type of a length. Raises FileError where answers
    contradict each other.
    """
    text = tomlkit.dumps(profile)
    answers = answers_of(asker, profile["piece"], length)
    if answers is None:
        return text
    whole = f"{text.partition(MARKER)[0].rstrip()}\n\n{side_text(answers)}"
    problems = problems_of(tomlkit.parse(whole).unwrap(), rig)
    raise_first(path, problem_errors(path, find_lines(whole), problems))
    return whole
