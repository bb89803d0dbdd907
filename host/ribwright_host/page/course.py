"""The profile ahead: what each stage does and what ends it, in words and seconds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ribwright_board.core.errors import CoreError
from ribwright_board.core.profile import parse
from ribwright_board.core.profile_values import Stage
from ribwright_host.profiles import canonical_json, short_hash
from ribwright_host.view import shown

# What a ramp is taken to need where neither the profile nor a rehearsal says it; drawn as a guess, no more.
GUESS_K_PER_S = 0.5
ROOM_C = 21.0
# What a hold comes to when its longest time is over.
AT_MOST = "at most before it falls to the set"


def clock(seconds: float) -> str:
    """Minutes and seconds.

    seconds: from 0.

    >>> clock(125.4), clock(-3)
    ('2:05', '0:00')
    """
    whole = max(0, round(seconds))
    return f"{whole // 60}:{whole % 60:02d}"


@dataclass(frozen=True)
class Course:
    """A profile as the page needs it. named: the zones each stage heats, by name."""

    name: str
    hash: str
    stages: Sequence[Stage]
    named: Sequence[tuple[str, ...]]
    piece: Mapping[str, Any]

    def stage(self, number: int) -> Stage | None:
        """A stage by its number, counted from 1; None for none."""
        return self.stages[number - 1] if 1 <= number <= len(self.stages) else None

    def zones(self, stage: Stage) -> tuple[str, ...]:
        """Names of the zones a stage heats."""
        return self.named[self.stages.index(stage)]

    @property
    def set_number(self) -> int:
        """Number of the first set stage, else of the first cool stage, else 0."""
        for kind in ("set", "cool"):
            for number, stage in enumerate(self.stages, start=1):
                if stage.kind == kind:
                    return number
        return 0


def course_of(mapping: object) -> Course | None:
    """A course from a profile's values; None for what is no profile this version can read.

    mapping: as a file or the head of a log holds it.
    """
    if not isinstance(mapping, dict):
        return None
    try:
        profile = parse(mapping)
    except CoreError:
        return None
    named = [tuple(str(zone) for zone in stage.get("zones") or ()) for stage in mapping["stages"]]
    return Course(profile.name, short_hash(canonical_json(mapping)), profile.stages, named, profile.piece)


def ends_words(course: Course, stage: Stage, unit: str) -> str:
    """What ends a stage, in plain words.

    course: of the stage. unit: "C" or "F" to show.
    """
    zones = " and ".join(course.zones(stage))
    if stage.kind == "cool":
        return f"ends once every zone reads below {shown(stage.below_c, unit)}"
    target = shown(stage.target_c, unit)
    if stage.mid_wood_c is not None:
        mid = shown(stage.mid_wood_c, unit)
        if stage.kind == "ramp":
            return f"ends once the middle of the wood is estimated at {mid}"
        held = (stage.mid_wood_ms or 0) / 1000
        return f"ends once the middle of the wood has been about {mid} for {held:.0f} s, or by Next"
    if stage.kind == "ramp":
        return f"ends once {zones} {'read' if len(stage.zones) > 1 else 'reads'} {target}"
    if stage.hold_ms is not None:
        cues = ", and every cue is done" if stage.cues else ""
        return f"ends after {clock(stage.hold_ms / 1000)} at {target}{cues}"
    return "you end it, by Next"


@dataclass(frozen=True)
class Leg:
    """One stage of the line ahead. from_s, to_s: since the first leg begins. guess: its length is one."""

    number: int
    from_s: float
    to_s: float
    guess: bool


def legs(
    course: Course, number: int, known_s: Mapping[int, float], reading_c: Mapping[str, float]
) -> list[Leg]:
    """The stages from one on, each with its expected length.

    course: the profile. number: of the first leg. known_s: lengths by stage number, from a rehearsal of this
    very profile. reading_c: what each zone reads as the first leg begins.
    """
    found: list[Leg] = []
    at_c = dict(reading_c)
    at_s = 0.0
    for here in range(max(number, 1), len(course.stages) + 1):
        stage = course.stages[here - 1]
        guess = here not in known_s
        length_s = known_s[here] if not guess else _length_s(course, stage, at_c)
        for zone in course.zones(stage):
            at_c[zone] = stage.target_c or ROOM_C
        found.append(Leg(here, at_s, at_s + length_s, guess))
        at_s += length_s
    return found


def _length_s(course: Course, stage: Stage, at_c: Mapping[str, float]) -> float:
    """How long a stage may take when nothing has shown it: its own time, or a guess."""
    if stage.hold_ms is not None:
        return stage.hold_ms / 1000
    if stage.kind == "hold":
        return (stage.longest_ms or 0) / 1000
    goal_c = stage.below_c if stage.kind == "cool" else stage.target_c
    away_k = max(
        (abs((goal_c or ROOM_C) - at_c.get(zone, ROOM_C)) for zone in course.zones(stage)), default=40.0
    )
    rate = stage.rate_k_per_min / 60 if stage.rate_k_per_min else GUESS_K_PER_S
    return away_k / rate


@dataclass(frozen=True)
class Left:
    """Time left, s, and the words that go before it; seconds None where no one can say."""

    words: str
    seconds: float | None


def left(
    course: Course,
    number: int,
    in_stage_s: float | None,
    held_s: float,
    known_s: Mapping[int, float],
    longer_s: float = 0.0,
) -> Left:
    """The time that is left before the set, or of the set itself.

    course: the profile. number: of the present stage. in_stage_s: time in it, None where not known. held_s:
    of that within the band. known_s: as legs(). longer_s: what the maker has added to the stage.

    Of a set, and of a hold by the clock, that is what its clock still counts, as on the rig's display. Any
    other hold falls to the set when its longest time is over, so that is shown of it. What a ramp still takes
    is only known from a rehearsal of this profile.
    """
    stage = course.stage(number)
    if stage is None or stage.kind == "cool":
        return Left("", None)
    if stage.hold_ms is not None:
        whole_s = stage.hold_ms / 1000 + longer_s
        return Left(
            f"left of the {stage.kind}, at heat", None if in_stage_s is None else max(0.0, whole_s - held_s)
        )
    if stage.kind == "hold":
        longest_s = (stage.longest_ms or 0) / 1000 + longer_s
        rest_s = None if in_stage_s is None else max(0.0, longest_s - in_stage_s)
        return Left(AT_MOST, rest_s)
    before = range(number, course.set_number)
    if in_stage_s is None or not all(one in known_s for one in before):
        return Left("before the set: the holds decide", None)
    return Left("before the set, as rehearsed", max(0.0, sum(known_s[one] for one in before) - in_stage_s))
