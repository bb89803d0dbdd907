"""How the strips of a pair lie, by asking in the words of the trade."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import tomlkit

from ribwright_board.core.rig_values import Rig
from ribwright_host.profiles import problem_errors, problems_of, raise_first
from ribwright_host.toml_lines import find_lines

from .facts import FORMS, HANDS, POINTS, Values

if TYPE_CHECKING:
    from ribwright_host.new import Asker

# The example's own lines on it, in place of which the answers stand.
MARKER = "# How the strips lie"
# Where waists are, from the neck end, as a share of the side: common practice, no source.
WAIST_SHARE = 0.44


def with_side(asker: "Asker", profile: Any, path: Path, rig: Rig, length: Any) -> str:  # noqa: ANN401
    """Text of a first profile with what was answered of how its strips lie.

    asker: who is asked; who takes every suggestion leaves it out. profile: tomlkit document, good by itself.
    path: it goes to, for errors. rig: checked. length: click type of a length. Raises FileError where answers
    contradict each other.
    """
    text = tomlkit.dumps(profile)
    wanted = asker.ask(
        "Mark how the strips lie, so that bass and treble are drawn", "no", click.Choice(["yes", "no"])
    )
    if wanted != "yes":
        return text
    piece = profile["piece"]
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
    answers: Values = {
        key: asker.ask(question, suggestion, kind) for key, question, suggestion, kind in questions
    }
    lines = [f"{key} = {tomlkit.item(value).as_string()}" for key, value in answers.items()]
    head = f"{MARKER}; the board does not get this, `ribwright start --side` draws it.\n[side]\n"
    whole = f"{text.partition(MARKER)[0].rstrip()}\n\n{head}" + "\n".join(lines) + "\n"
    problems = problems_of(tomlkit.parse(whole).unwrap(), rig)
    raise_first(path, problem_errors(path, find_lines(whole), problems))
    return whole
