"""The page on what to check, by symptom, written from the firmware's table of faults and its limits.

`python -m ribwright_host.trouble_page --write` writes it. Without --write it only says whether
wiring/TROUBLESHOOTING.md is what the table makes of it; exit code 1 when not.
"""

import sys
import tomllib
from importlib.resources import files
from pathlib import Path

from ribwright_board.core import (
    adrift,
    answer,
    attend,
    controller,
    guard,
    holding,
    judge,
    proving,
    sensing,
    unasked,
    units,
)
from ribwright_board.core import rig as core_rig
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.trip import Trip, trip_words

from .written_page import keep

WORDS = Path(__file__).parent / "templates" / "trouble_words.toml"
PAGE = Path(__file__).resolve().parents[2] / "wiring" / "TROUBLESHOOTING.md"
EXAMPLE = "rig_two_zone_120v.toml"
SOURCE = (
    "Written from `core/errors.py` and the firmware's limits by "
    "`python -m ribwright_host.trouble_page --write`; change the table or the words in "
    "`templates/trouble_words.toml`, never this page."
)
STANDING = (
    "No real rig has been heated yet. What the board says, and when, is the firmware's own; the order of the "
    "checks is ours and common practice, no source."
)


def limits() -> dict[str, str]:
    """The limits that the words name, as the firmware has them: seconds, kelvin, C, percent or a count."""
    numbers = {
        "bad_s": guard.BAD_TRIP_MS / 1000,
        "ceiling_s": guard.CEILING_TRIP_MS / 1000,
        "contactor_s": guard.CONTACTOR_TRIP_MS / 1000,
        "late_s": guard.LOOP_TRIP_MS / 1000,
        "leap_k": guard.LEAP_K,
        "leap_k_per_s": guard.LEAP_K_PER_S,
        "spread_k": guard.COLD_SPREAD_K,
        "start_spread_k": proving.COLD_SPREAD_K,
        "below_k": proving.BELOW_K,
        "cold_least_c": sensing.COLD_MIN_C,
        "cold_most_c": sensing.COLD_MAX_C,
        "least_c": units.READING_MIN_C,
        "most_c": units.READING_MAX_C,
        "frozen_s": judge.FROZEN_MS / 1000,
        "no_percent": answer.NO_SHARE * 100,
        "fall_percent": adrift.FALL_SHARE * 100,
        "fall_s": adrift.FALL_S,
        "hold_most": holding.HOLD_MOST,
        "hold_least": holding.HOLD_LEAST,
        "too_hot_k": unasked.TOO_HOT_K,
        "resets": controller.RESETS_MOST,
        "presence_min": attend.PROMPT_MS / 60000,
        "grace_min": attend.GRACE_MS / 60000,
        "session_min": attend.SESSION_MS / 60000,
    }
    return {name: f"{value:.4g}" for name, value in numbers.items()}


def _example() -> str:
    """A shutdown of the example rig as the board words it."""
    text = (files("ribwright_host") / "library" / EXAMPLE).read_text(encoding="utf-8")
    rig = core_rig.parse(tomllib.loads(text))
    return trip_words(Trip("detached", 0, 0.31, 1.62, "K", 0), rig)


def _numbered(steps: list[str]) -> list[str]:
    """Steps as sentences, counted."""
    return [
        f"{at}. {step[:1].upper()}{step[1:]}{'' if step[-1] in '.?' else '.'}"
        for at, step in enumerate(steps, 1)
    ]


def page() -> str:
    """The whole page as Markdown.

    Raises KeyError when a fault or a limit is missing, ValueError when a fault has no place, words stand for
    no fault of the firmware, or a limit is named by nobody.
    """
    words = tomllib.loads(WORDS.read_text(encoding="utf-8"))
    known = limits()
    used: set[str] = set()

    def filled(text: str) -> str:
        used.update(name for name in known if "{" + name + "}" in text)
        return text.format_map(known)

    placed = [code for group in words["group"] for code in group["codes"]]
    if sorted(placed) != sorted(FAULTS) or set(words["fault"]) != set(FAULTS):
        odd = {code for code in placed if placed.count(code) > 1}
        odd |= set(placed) ^ set(FAULTS) | set(words["fault"]) ^ set(FAULTS)
        raise ValueError(f"faults and words do not go together: {', '.join(sorted(odd))}")
    lines = ["# When something is wrong", "", SOURCE, "", STANDING, "", "## First, whatever it is", ""]
    lines += _numbered(words["first"])
    lines += ["", "A shutdown reads like this: code, zone, what was seen, the limit, where to look."]
    lines += ["", "```text", _example(), "```", "", "## No code, but something is odd", ""]
    lines += [f"- [{one['title']}](#{_anchor(one['title'])})" for one in words["symptom"]]
    lines += ["", "## By code", ""]
    lines += [
        f"- {group['title']}: " + ", ".join(f"[`{code}`](#{code})" for code in group["codes"])
        for group in words["group"]
    ]
    for one in words["symptom"]:
        lines += ["", f"## {one['title']}", "", *_numbered(one["check"])]
    for group in words["group"]:
        lines += ["", f"## {group['title']}", "", filled(group["text"])]
        for code in group["codes"]:
            number, advice = FAULTS[code]
            said = words["fault"][code]
            lines += ["", f"### {code}", "", f"Number {number} in the log. The board says: “{advice}.”", ""]
            lines += [filled(said["saw"]), "", *_numbered([filled(step) for step in said["check"]])]
    if left := set(known) - used:
        raise ValueError(f"limits that no words name: {', '.join(sorted(left))}")
    return "\n".join(lines) + "\n"


def _anchor(title: str) -> str:
    """What a heading is linked by."""
    kept = "".join(letter for letter in title.lower() if letter.isalnum() or letter in " -_")
    return kept.replace(" ", "-")


def main(arguments: list[str] | None = None) -> int:
    """Write the page, or say whether it is up to date; the exit code.

    arguments: of the command line, None for the process's own; with --write it is written.
    """
    return keep(PAGE, page(), "ribwright_host.trouble_page", arguments)


if __name__ == "__main__":
    sys.exit(main())
