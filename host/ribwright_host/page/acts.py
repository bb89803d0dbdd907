"""What a page may ask of the board, as one table. Nothing in it can begin heating or clear a shutdown.

A board that does not know an ask says so once; its button goes grey until another board is greeted.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ribwright_board.core.acts import MARKED, MARKS
from ribwright_host.acts import kelvin_of
from ribwright_host.errors import RefusedByBoardError

# Of a refusal that means: the ask itself is not known.
UNKNOWN = "no_such_ask"


@dataclass(frozen=True)
class Act:
    """One thing a maker asks.

    verb: the ask. words: on its button. done: once the board has answered. modes: in which it means
    something. whole: name and bounds of a whole number it takes. choices: name and words of one it takes.
    waits: only while the board waits for it. steers: needs the steering; without, everybody paired may.
    """

    verb: str
    words: str
    done: str
    modes: tuple[str, ...]
    whole: tuple[str, int, int] | None = None
    choices: tuple[str, Mapping[str, str]] | None = None
    waits: str = ""
    steers: bool = True


# On their buttons: the words of the report and of `ribwright mark`.
MARK_BUTTONS = {what: what.replace("_", " ") for what in MARKS}

ACTS = {
    act.verb: act
    for act in (
        Act("stop", "STOP", "the run is over, relays off", (), steers=False),
        Act("next", "Next", "went on", ("running",), waits="next"),
        Act("pause", "Pause", "relays off; start at the rig goes on", ("running",)),
        Act("back_off", "Back off", "less heat from here", ("running",)),
        Act("extend", "Longer", "the time was made longer", ("running",), whole=("minutes", 1, 30)),
        Act("nudge", "Target", "the target was moved", ("running",), whole=("by_k", -10, 10)),
        Act("mark", "Mark", "noted in the run's log", MARKED, choices=("what", MARK_BUTTONS)),
    )
}


# What one touch moves a target by, degrees of the unit that is shown.
STEP = {"C": 2, "F": 5}


def nudge_buttons(unit: str) -> list[tuple[int, str]]:
    """The two buttons that move a target: kelvin to ask for, words.

    unit: "C" or "F" that is shown. The board moves by whole kelvin, as `ribwright nudge` asks for them.

    >>> nudge_buttons("F")
    [(-3, 'Target 5 \u00b0F lower'), (3, 'Target 5 \u00b0F higher')]
    """
    by_k, step = (
        kelvin_of(STEP[unit], unit),
        f"{STEP[unit]} K" if unit == "C" else f"{STEP[unit]} \u00b0{unit}",
    )
    return [(-by_k, f"Target {step} lower"), (by_k, f"Target {step} higher")]


class ActError(Exception):
    """An act that is none, or not now; its text is for the page."""


def checked(verb: object, values: object) -> tuple[Act, dict[str, Any]]:
    """An act and exactly the values it takes.

    verb, values: as a browser sent them. Raises ActError.
    """
    act = ACTS.get(verb) if isinstance(verb, str) else None
    if act is None:
        raise ActError(f"{str(verb)[:20]!r} is nothing this page can ask of the rig")
    given = values if isinstance(values, dict) else {}
    kept: dict[str, Any] = {}
    if act.whole:
        name, least, most = act.whole
        value = given.get(name)
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most or value == 0:
            raise ActError(
                f"{name} is {str(value)[:20]}; it must be a whole number from {least} to {most}, not 0"
            )
        kept[name] = value
    if act.choices:
        name, words = act.choices
        value = given.get(name)
        if not isinstance(value, str) or value not in words:
            raise ActError(f"{name} is {str(value)[:20]}; it must be one of {', '.join(words)}")
        kept[name] = value
    return act, kept


@dataclass
class Known:
    """Which acts the board at hand has said it does not know."""

    unknown: set[str] = field(default_factory=set)

    def heard(self, verb: str, error: RefusedByBoardError) -> str:
        """A refusal in plain words; an unknown ask is remembered.

        verb: what was asked. error: the board's no.
        """
        if error.code != UNKNOWN:
            return f"The board says no: {error.seen}. {error.hint[:1].upper()}{error.hint[1:]}."
        self.unknown.add(verb)
        return (
            f"This board does not know {ACTS[verb].words.lower()!r} yet. Update it: ribwright flash with its "
            "rig file."
        )

    def closed(self, mode: str, waiting: str) -> dict[str, str]:
        """Why each act that makes no sense now is closed, by its verb; stop never is.

        mode, waiting: as the board tells them.
        """
        found = {}
        for verb, act in ACTS.items():
            if verb in self.unknown:
                found[verb] = "this board does not know it"
            elif act.modes and mode not in act.modes:
                found[verb] = "not while the rig is " + (mode or "silent")
            elif act.waits and waiting != act.waits:
                found[verb] = "nothing waits for it"
        return found
