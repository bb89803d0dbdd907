"""What a maker asks of a run under way, and where a bend that broke off can be taken up again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ribwright_board.core.acts import MARKS
from ribwright_board.core.profile import MAX_STAGES

from .answers import UPDATE_BOARD, whole
from .errors import UsageError, VersionMismatchError

if TYPE_CHECKING:
    from .link import Link

MOST_K = 10
# The longest any stage may last is told in seconds: a day's worth is no answer.
MOST_LEFT_S = 86_400
TENTHS_MOST = 4_000
K_PER_F = 1.8
# After these the wood had more heat than it was meant to have: it is looked at, not heated once more.
HAD_TOO_MUCH = ("ceiling", "heat_while_off", "too_hot", "fast_rise")
MARK_WORDS = tuple(what.replace("_", "-") for what in MARKS)


def make_ready(link: Link, profile_hash: str, stage: int | None = None) -> int:
    """Lay out a run of a stored profile; its number. Heat waits for the press at the rig.

    link: to the board. profile_hash: as put_profile() answered. stage: to begin with, counted from 1, None
    for the first.
    Raises as Link.ask(), and VersionMismatchError for a board that would have begun with the first stage;
    then nothing is laid out any more.
    """
    asked: dict[str, Any] = {"profile": profile_hash} | ({} if stage is None else {"stage": stage})
    answer = link.ask("ready", asked)
    if stage is not None and answer.get("stage") != stage:
        link.ask("stop")
        raise VersionMismatchError(
            "the board knows of no later stage to begin with, nothing is laid out", UPDATE_BOARD
        )
    return int(answer["run"])


def kelvin_of(amount: float, unit: str) -> int:
    """Whole kelvin nearest to a difference in the maker's unit.

    amount: degrees, more than 0. unit: "C" or "F".
    Raises UsageError for less than half a kelvin, or more than the board takes.

    >>> kelvin_of(5, "F"), kelvin_of(2.4, "C")
    (3, 2)
    """
    by_k = int((amount / K_PER_F if unit == "F" else amount) + 0.5)
    if not 1 <= by_k <= MOST_K:
        span = "1 to 10 degrees C" if unit == "C" else "1 to 18 degrees F"
        raise UsageError(
            f"{amount:g} degrees {unit} are {by_k} K, a target is moved by whole kelvin, 1 to {MOST_K}",
            f"say {span}",
            code="amount",
        )
    return by_k


def nudge(link: Link, by_k: int) -> float:
    """Move the target of the hold or set that is on; where it is then, C.

    link: to the board. by_k: whole kelvin, up or down. Raises as Link.ask().
    """
    return whole(link.ask("nudge", {"by_k": by_k}).get("target"), 0, TENTHS_MOST, "the target") / 10


def extend(link: Link, minutes: int) -> int:
    """Let the hold or set that is on last longer; seconds left of its longest time.

    link: to the board. minutes: 1 to 30. Raises as Link.ask().
    """
    left = link.ask("extend", {"minutes": minutes}).get("left_s")
    return whole(left, 0, MOST_LEFT_S, "the seconds left")


def back_off(link: Link) -> int:
    """Leave a ramp or hold for the next set stage, or for cooling; that stage, counted from 1.

    link: to the board. Raises as Link.ask().
    """
    return whole(link.ask("back_off").get("stage"), 1, MAX_STAGES, "the stage")


def mark(link: Link, what: str) -> None:
    """Note in the log what was seen of the wood.

    link: to the board. what: one of MARKS. Raises as Link.ask().
    """
    link.ask("mark", {"what": what})


def mark_of(word: str) -> str:
    """The mark a maker means; `gave-way` and `gave_way` are the same.

    word: as typed. Raises UsageError with the words there are.
    """
    what = word.lower().replace("-", "_")
    if what not in MARKS:
        raise UsageError(f"no mark is called {word}", f"say one of: {', '.join(MARK_WORDS)}", code="mark")
    return what


def stage_again(kinds: Mapping[int, str], stage: int, code: str = "") -> int | None:
    """The stage that a bend which broke off in `stage` could be begun with again, None for none.

    kinds: what is known of the profile's stages, counted from 1. code: of the trip that broke it off.

    A hold does not wait until it is hot, so one behind its own ramp begins with that ramp. Nothing is left to
    heat for a bend that was cooling, and wood that had too much heat gets none before somebody looked.

    >>> stage_again({1: "ramp", 2: "hold", 3: "set"}, 2), stage_again({3: "set"}, 3)
    (1, 3)
    """
    kind = kinds.get(stage)
    if kind is None or kind == "cool" or code in HAD_TOO_MUCH:
        return None
    return stage - 1 if kind == "hold" and kinds.get(stage - 1) == "ramp" else stage


def again_words(stage: int | None) -> str:
    """How such a bend is taken up; empty where it is not.

    stage: as stage_again() says.
    """
    if stage is None:
        return ""
    return (
        "Once that is put right and acknowledged at the rig, and the wood is sound, take the bend up with: "
        f"ribwright start PROFILE --from-stage {stage}"
    )


def later_stage(stages: Sequence[Mapping[str, Any]], wanted: int) -> str:
    """Why a run may not begin with a stage, what it begins with otherwise in words.

    stages: of a checked profile. wanted: counted from 1.
    Raises UsageError with code stage where it is not there or only cools.
    """
    if wanted > len(stages):
        seen = f"the profile has {len(stages)} stages, none is stage {wanted}"
        raise UsageError(seen, "see them with: ribwright check PROFILE", code="stage")
    stage = stages[wanted - 1]
    if stage["kind"] == "cool":
        raise UsageError(
            f"stage {wanted} only cools, there is nothing to heat", "begin with an earlier one", code="stage"
        )
    words = f"It begins with stage {wanted}, a {stage['kind']}"
    if wanted > 1:
        words += "; stage 1 is left out" if wanted - 1 == 1 else f"; stages 1 to {wanted - 1} are left out"
    words += "."
    if stage["kind"] != "ramp":
        words += " Its longest time runs from the start, also while it warms up."
    return words
