"""The page of a plan, to keep beside the profile. Every name in it is treated as untrusted text."""

from collections.abc import Mapping
from typing import Any

from ribwright_host.inline import inline_svg, page_templates
from ribwright_host.profiles import describe

from . import sentences
from .spring import over_bend_sentence, suggested_sentence

SIZES = ("length_mm", "width_mm", "thickness_mm")


def page_text(
    figures: Mapping[str, Any], mapping: Mapping[str, Any], profile_name: str, svg: str, lengths: str = "mm"
) -> str:
    """The page as text.

    figures: of the plan. mapping: of its profile. profile_name: the file's. svg: text of the picture.
    lengths: "mm" or "in".
    """
    unit = str(figures["unit"])
    pages = page_templates()
    pages.filters["degrees"] = lambda value: sentences.degrees(value, unit)
    why = [sentences.stretch_sentence(figures)]
    for number, bend in enumerate(figures["bends"]):
        target = sentences.degrees(bend["tried"]["target_c"], unit)
        place = sentences.place_words(figures, number)
        why += [
            f"Bend {place} at {target}: {sentences.target_sentence(figures, number)}",
            sentences.soft_sentence(figures, number),
        ]
    why += [
        f"Set: {sentences.set_sentence(figures)}",
        suggested_sentence(figures["over_bend"], figures["set_c"], unit).rstrip("."),
        sentences.colour_sentence(figures),
        over_bend_sentence(figures["over_bend"], lengths),
    ]
    alt = (
        "Softness and colour at the tightest place over the target, as bands; the list above gives the plan."
    )
    # The optional keys of a piece are asked for by name in the page.
    plan = {**figures, "piece": {"plies": None, "moisture_percent": None, **figures["piece"]}}
    return pages.get_template("plan.html.j2").render(
        plan=plan,
        size=" x ".join(sentences.size(figures["piece"][key], figures).split()[0] for key in SIZES)
        + f" {lengths}",
        profile_name=profile_name,
        stages=[line.split(". ", 1)[1] for line in describe(mapping)[1:]],
        why=[line for line in why if line],
        picture=inline_svg(svg, alt),
        practice=sentences.practice_sentences(figures),
        reference=sentences.degrees(177.0, unit),
        caution=sentences.CAUTION,
    )
