"""A plan on the screen, in plain words."""

import textwrap
from collections.abc import Mapping
from typing import Any

from . import sentences
from .spring import over_bend_sentence, suggested_sentence

WIDTH = 100


def summary(figures: Mapping[str, Any], chosen: str, lengths: str = "mm") -> list[str]:
    """What was found, one screen.

    figures: of the plan, with its over_bend. chosen: how the rig was chosen, in words. lengths: "mm" or "in".
    """
    unit = figures["unit"]
    rig = figures["rig"] + (f" ({chosen})" if chosen else "")
    lines = [
        f"SIMULATED: a plan for {figures['name']} on {rig}, made on {figures['rigs']} rigs drawn around it.",
        f"Grade: {figures['grade']}.",
    ]
    lines += [f"  {reason['grade']}: {reason['text']} [{reason['source']}]" for reason in figures["reasons"]]
    if figures["drawing"]:
        lines.append(f"Outline: {figures['drawing']}.")
    for number, bend in enumerate(figures["bends"]):
        target = sentences.degrees(bend["tried"]["target_c"], unit)
        lines.append(
            f"Bend {sentences.place_words(figures, number)} at {target}: "
            f"{sentences.target_sentence(figures, number)}."
        )
        lines.append(f"  {sentences.soft_sentence(figures, number)}.")
    lines.append(f"{sentences.stretch_sentence(figures)}.")
    lines.append(
        f"Set at {sentences.degrees(figures['set_c'], unit)} for {figures['set_minutes']:.0f} min: "
        f"{sentences.set_sentence(figures)}."
    )
    if suggested := suggested_sentence(figures["over_bend"], figures["set_c"], unit):
        lines.append(f"  {suggested}")
    lines.append(f"{sentences.colour_sentence(figures)}.")
    lines.append(over_bend_sentence(figures["over_bend"], lengths))
    lines += [f"Beside it ({sentences.PRACTICE}): {one}" for one in sentences.practice_sentences(figures)]
    lines.append(
        f"{sentences.MARK} rests on an unverified bridge between published facts. {sentences.CAUTION}"
    )
    return [
        part
        for line in lines
        for part in textwrap.wrap(
            line, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False
        )
    ]
