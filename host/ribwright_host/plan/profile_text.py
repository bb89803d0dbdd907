"""A planned profile as a TOML file with its reasons beside it."""

from collections.abc import Iterator, Mapping
from typing import Any

import tomlkit

from ribwright_host.toml_lines import comment_lines

from . import sentences
from .spring import suggested_sentence

PIECE_NOTES = {
    "wetted": "what the plan counts on; weigh a strip before and after, then state moisture_percent",
    "moisture_percent": "weighed; the plan holds for one point more or less",
}
BLANKET_LATE = "a blanket that takes longer has a fault"
REST_LATE = "a stack that is not cooler by then is shut down"


def profile_text(mapping: Mapping[str, Any], purposes: list[str], figures: Mapping[str, Any]) -> str:
    """The whole file.

    mapping: of the profile. purposes: of its stages. figures: of the plan.
    """
    lines = [*_head(figures), ""]
    lines += [_pair(key, mapping[key]) for key in ("schema", "name", "unit")]
    lines += ["", "[piece]"]
    for key, value in mapping["piece"].items():
        note = PIECE_NOTES.get(key)
        if key == "tightest_radius_mm" and figures["strain_percent"] is not None:
            note = f"stretch t/(2R+t) = {figures['strain_percent']:.2f} %"
        lines.append(_pair(key, value, note))
    for stage, purpose in zip(mapping["stages"], purposes, strict=True):
        lines += ["", *comment_lines(_why(stage, purpose, figures)), "[[stages]]"]
        lines += [_pair(key, value, _note(key, stage, purpose, figures)) for key, value in stage.items()]
    return "\n".join(lines) + "\n"


def _head(figures: Mapping[str, Any]) -> Iterator[str]:
    yield from comment_lines(
        f"Planned by Ribwright {figures['ribwright']} for {figures['rig']} ({figures['rig_hash']}): "
        f"SIMULATED on {figures['rigs']} rigs, seed {figures['seed']}."
    )
    yield from comment_lines(f"Grade: {figures['grade']}. {sentences.MARK} rests on an unverified bridge.")
    for reason in figures["reasons"]:
        yield from comment_lines(f"- {reason['grade']}: {reason['text']} ({reason['source']})")
    yield from comment_lines(sentences.colour_sentence(figures) + ".")
    yield from comment_lines(sentences.CAUTION)


def _pair(key: str, value: Any, note: str | None = None) -> str:  # noqa: ANN401 - whatever TOML holds
    line = f"{key} = {tomlkit.item(value).as_string()}"
    return line if note is None else f"{line:<23} # {' '.join(note.split())}"


def _why(stage: Mapping[str, Any], purpose: str, figures: Mapping[str, Any]) -> str:
    """The comment above a stage."""
    bend = 0 if purpose == "tight" else 1
    if stage["kind"] == "ramp" and purpose == "rest":
        return (
            "The long blanket heats this place too, so it cools first; what is still to be bent keeps its "
            "water."
        )
    if stage["kind"] == "ramp":
        return f"Target: {sentences.target_sentence(figures, bend)}."
    if purpose == "set":
        suggested = suggested_sentence(figures.get("over_bend", {}), figures["set_c"], figures["unit"])
        why = f"Lower heat that dries the bend into the wood: {sentences.set_sentence(figures)}."
        return f"{why} {suggested}".strip()
    if purpose == "cool":
        return "Leave it clamped until it is cold, or it springs back."
    if stage.get("until") == "maker":
        return (
            f"{sentences.soft_sentence(figures, bend)}. Press at once when the cue comes; next when it lies "
            "on the form."
        )
    return f"{sentences.wait_sentence(figures, bend).capitalize()}."


def _note(key: str, stage: Mapping[str, Any], purpose: str, figures: Mapping[str, Any]) -> str | None:
    """The comment beside a key."""
    bend = 0 if purpose == "tight" else 1
    if key == "longest_min":
        if stage["kind"] == "ramp":
            return REST_LATE if purpose == "rest" else BLANKET_LATE
        return "then it falls to the set by itself" if stage["kind"] == "hold" else None
    if key == "target" and stage["kind"] == "ramp" and purpose in ("tight", "then"):
        start = figures["bends"][bend]["start_min"]
        return f"its cue comes {start['low']:.0f} to {start['high']:.0f} min after the start"
    return None
