"""What the maker did becomes what is asked: the stages of a run as it went, as stages of a new profile."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ribwright_board.core.profile_values import Stage
from ribwright_board.core.rig_values import Rig
from ribwright_board.core.units import TARGET_MARGIN_K, TARGET_MAX_C, TARGET_MIN_C, c_from, in_unit
from ribwright_host.book.quantities import show_c, show_k, show_s

from .went import BACKED_OFF, CLOCK, LONGEST, MAKER, SAME_C, WOOD_LATE, Cue, Held, Went

Values = dict[str, Any]

# A hold of less cannot be asked for.
LEAST_MIN, MOST_MIN = 0.1, 240.0
# A row stands for a second at either end of a stage: the profile's own number is kept within these.
SAME_MIN = 0.05
# Room beyond what a hold took on side one, before it falls back to the set.
SPARE_MIN = 2.0
LOST_S = 3.0
NAME = 34
AFTER = " after it began"


@dataclass
class Took:
    """What became of one stage of the profile.

    number: in the profile, from 1. name: of it. stages: what is asked instead, none where it is left out.
    notes: lines for the file, beside each of these. sentence: what was taken over, what was not and why.
    """

    number: int
    name: str
    stages: list[Values] = field(default_factory=list)
    notes: list[list[str]] = field(default_factory=list)
    sentence: str = ""

    def ask(self, stage: Values, *notes: str) -> None:
        """Add a stage with its notes."""
        self.stages.append(stage)
        self.notes.append([note for note in notes if note])

    def line(self) -> str:
        """The stage in one line for people."""
        return f"{self.number} {self.name}: {self.sentence}"


@dataclass(frozen=True)
class Terms:
    """What a stage is taken over by. unit: of the profile. rig: of side two, None where it is not known.
    doubt: why times and moved targets do not carry over, "" where they do. split: a hold whose target was
    moved may become several.
    """

    unit: str
    rig: Rig | None = None
    doubt: str = ""
    split: bool = True

    def shown(self, value_c: float) -> str:
        """A temperature for people, to a tenth where it has one."""
        return show_c(value_c, self.unit, 0 if abs(value_c - round(value_c)) < SAME_C else 1)

    def number(self, value_c: float, stated: float | None = None) -> float:
        """A temperature for the file; the stated number where it is the same."""
        if stated is not None and abs(c_from(stated, self.unit) - value_c) < SAME_C:
            return stated
        return _plain(round(in_unit(value_c, self.unit), 1))


def _plain(value: float) -> float:
    """A number without a useless decimal point."""
    return int(value) if value == int(value) else value


def took(stage: Mapping[str, Any], checked: Stage, went: Went, terms: Terms) -> Took:
    """One stage taken over.

    stage: as the profile states it. checked: the same, read. went: how it went. terms: what it is taken over
    by.
    """
    found = Took(went.index + 1, checked.name)
    if checked.kind == "cool":
        found.ask(dict(stage))
        found.sentence = f"cooling to {terms.shown(checked.below_c or 0.0)}, as the profile says"
        found.sentence += "; on side one it was ended by hand, with all heat done." if went.cut else "."
    elif checked.kind == "ramp":
        _ramp(found, stage, checked, went, terms)
    else:
        _hold(found, stage, checked, went, terms)
    if went.paused_s:
        found.sentence += f" It was paused for {went.paused_s:.0f} s, which is not repeated."
    _keep_limits(found, terms)
    return found


def _ramp(found: Took, stage: Mapping[str, Any], checked: Stage, went: Went, terms: Terms) -> None:
    """By arrival, as on side one; one that was backed off goes as far as it came."""
    asked, target_c = dict(stage), checked.target_c or 0.0
    after = f"on side one over after {show_s(went.seconds)}"
    mid = "" if went.mid_c is None else f"the middle of the wood then estimated at {terms.shown(went.mid_c)}"
    if went.ended == BACKED_OFF:
        rising = bool(went.start_c) and min(went.start_c) < target_c
        came_c = (min if rising else max)(went.last_c, default=None)
        if came_c is None or not TARGET_MIN_C <= came_c <= TARGET_MAX_C:
            found.sentence = (
                "left out: it was backed off before it came to a temperature that can be asked for."
            )
            return
        for key in ("heat_for", "mid_wood", "wood_face"):
            asked.pop(key, None)
        asked["target"] = terms.number(came_c)
        found.ask(asked, f"on side one backed off {show_s(went.seconds)}{AFTER}, at {terms.shown(came_c)}")
        found.sentence = (
            f"ramp to {terms.shown(came_c)}, where it was backed off, instead of {terms.shown(target_c)}."
        )
        return
    found.sentence = f"ramp to {terms.shown(target_c)} by arrival, as the profile says; {after}."
    if went.ended == WOOD_LATE and went.mid_c is not None:
        least_c = TARGET_MIN_C - 8.0
        if went.mid_c >= least_c and not terms.doubt:
            asked["mid_wood"] = terms.number(math.floor(went.mid_c * 10) / 10)
            found.sentence = (
                f"ramp to {terms.shown(target_c)}, over once the middle of the wood is estimated at "
                f"{terms.shown(went.mid_c)}, which is what it came to in its longest time."
            )
    found.ask(asked, after, mid)


def _hold(found: Took, stage: Mapping[str, Any], checked: Stage, went: Went, terms: Terms) -> None:
    """Held as long as it was within its band, at the targets that it had."""
    words = [_held_words(one, checked, terms) for one in went.held]
    done = " then ".join(words) or "never at a target"
    why = terms.doubt
    if not why and went.lost_s > LOST_S and (went.ended != CLOCK or len(went.held) != 1 or stage.get("cues")):
        why = f"{went.lost_s:.0f} s of its log are lost, so how long it was held is not known"
    if why:
        asked = {key: value for key, value in stage.items() if key != "cues"}
        if stage.get("cues"):
            asked["cues"] = list(stage["cues"])
        found.ask(asked, f"on side one {done}", *_cue_notes(went.cues, checked))
        found.sentence = f"as the profile says. Not taken over, since {why}: {done}."
        return
    held = list(went.held) if terms.split else _as_one(went.held)
    cues = [cue for cue in went.cues if cue.at_ms is not None]
    if went.lost_s > LOST_S and checked.hold_ms is not None:
        # The board counted what the log does not show.
        whole_s = checked.hold_ms / 1000 + 60 * went.extended_min
        held = [Held(held[0].target_c, whole_s, whole_s, held[0].until_ms)]
    if not held:
        found.sentence = "left out: it was over as it began, so there is nothing to repeat."
        return
    if not any(one.reached for one in held):
        _hold_unreached(found, stage, checked, went, _as_one(held)[0], terms)
        return
    for at, one in enumerate(held):
        last = at == len(held) - 1
        mine = [cue for cue in cues if last or (cue.at_ms or 0) <= one.until_ms]
        cues = [cue for cue in cues if cue not in mine]
        _ask_hold(found, stage, checked, went, one, mine, terms, part=at + 1 if len(held) > 1 else 0)
    found.sentence = f"{done}, ended {_end_words(went)}; the same is asked for."
    left = [checked.cues[cue.number - 1] for cue in went.cues if cue.at_ms is None]
    if left:
        listed = ", ".join(f'"{cue}"' for cue in left)
        found.sentence += f" Cues that were not acknowledged are left out: {listed}."


def _hold_unreached(
    found: Took, stage: Mapping[str, Any], checked: Stage, went: Went, one: Held, terms: Terms
) -> None:
    """A hold that was hardly ever within its band: the heat its wood got, where that can be asked for."""
    at, band_k = terms.shown(one.target_c), checked.band_k or 0.0
    been = f"{one.in_band_s:.0f} s of {show_s(one.whole_s)}"
    not_so = f"not reached on side one: within {show_k(band_k, terms.unit)} of {at} for {been}"
    stood_c = one.stood_c
    if one.steady and stood_c is not None and TARGET_MIN_C <= stood_c <= TARGET_MAX_C:
        cues = [cue for cue in went.cues if cue.at_ms is not None]
        real = Held(round(stood_c), one.stood_s, one.whole_s, one.until_ms)
        _ask_hold(found, stage, checked, went, real, cues, terms, part=0)
        found.notes[-1] = [f"{not_so}; it stood at {terms.shown(stood_c)}", *found.notes[-1][1:]]
        found.sentence = (
            f"{not_so}. It stood at {terms.shown(stood_c)} for {show_s(one.stood_s)}: that is asked for "
            f"instead, {terms.shown(real.target_c)} for as long. "
            f"Find out why it did not come to {at} before side two."
        )
        return
    asked = dict(stage)
    written = "it is written as the profile has it"
    if went.ended == MAKER and checked.kind == "hold":
        for key in ("minutes", "mid_wood", "mid_wood_s"):
            asked.pop(key, None)
        asked["until"] = "maker"
        written = f"it ends by next; press that after {show_s(one.whole_s)}, as on side one"
    found.ask(asked, not_so, *_cue_notes(went.cues, checked))
    found.sentence = f"{not_so}, and at no other temperature for long; {written}."


def _as_one(held: Sequence[Held]) -> list[Held]:
    """Stretches as one, at the target that stood longest."""
    if not held:
        return []
    longest = max(held, key=lambda one: one.whole_s)
    sums = (sum(one.in_band_s for one in held), sum(one.whole_s for one in held))
    return [Held(longest.target_c, *sums, held[-1].until_ms, longest.stood_c, longest.stood_s)]


def _ask_hold(
    found: Took,
    stage: Mapping[str, Any],
    checked: Stage,
    went: Went,
    one: Held,
    cues: Sequence[Cue],
    terms: Terms,
    *,
    part: int,
) -> None:
    """One stretch as a stage of its own."""
    minutes = min(MOST_MIN, max(LEAST_MIN, round(one.in_band_s / 60, 2)))
    stated_min = stage.get("minutes")
    if stated_min is not None and not part and abs(minutes - stated_min) <= SAME_MIN:
        minutes = stated_min
    needed_min = minutes + (one.whole_s - one.in_band_s) / 60 + SPARE_MIN
    given_min = (checked.longest_ms or 0) / 60000 + went.extended_min
    if part:
        given_min = min(given_min, 2 * minutes + 5)
    longest_min = min(MOST_MIN, max(given_min, math.ceil(2 * needed_min) / 2, minutes))
    asked: Values = {"kind": checked.kind}
    if "name" in stage:
        asked["name"] = f"{checked.name[:NAME]} ({part})" if part else stage["name"]
    asked |= {"zones": list(stage["zones"]), "target": terms.number(one.target_c, stage["target"])}
    asked["minutes"] = _plain(minutes)
    if "band" in stage:
        asked["band"] = stage["band"]
    asked["longest_min"] = _plain(round(longest_min, 2))
    if cues:
        asked["cues"] = [checked.cues[cue.number - 1] for cue in cues]
    mid = ""
    if went.mid_c is not None and one is went.held[-1]:
        mid = f"at its end on side one the middle of the wood was estimated at {terms.shown(went.mid_c)}"
    found.ask(asked, f"on side one {_held_words(one, checked, terms)}", *_cue_notes(cues, checked), mid)


def _held_words(one: Held, checked: Stage, terms: Terms) -> str:
    """A stretch in words: how long, at what, and by how much that was moved."""
    moved_k = one.target_c - (checked.target_c or one.target_c)
    moved = f" (moved by {moved_k:+.0f} K)" if abs(moved_k) >= SAME_C else ""
    return f"held {show_s(one.in_band_s)} within its band at {terms.shown(one.target_c)}{moved}"


def _cue_notes(cues: Sequence[Cue], checked: Stage) -> list[str]:
    """A line for each cue: when it was acknowledged on side one."""
    return [
        f'cue "{checked.cues[cue.number - 1]}": '
        + (
            "not acknowledged on side one"
            if cue.after_s is None
            else f"on side one {show_s(cue.after_s)}{AFTER}"
        )
        for cue in cues
    ]


def _end_words(went: Went) -> str:
    if went.ended == LONGEST:
        return "by its longest time"
    if went.ended == BACKED_OFF:
        return "by backing off to the set"
    return f"as the run was {went.ended}" if went.cut else went.ended


def _keep_limits(found: Took, terms: Terms) -> None:
    """Targets beyond what side two's rig allows come down to its limit, which is said."""
    if terms.rig is None:
        return
    ceilings_c = {zone.name: zone.ceiling_c for zone in terms.rig.zones}
    for stage in found.stages:
        known_c = [ceilings_c[name] for name in stage.get("zones", ()) if name in ceilings_c]
        if not known_c:
            continue
        limit_c = min(known_c) - TARGET_MARGIN_K
        for key in ("target", "wood_face"):
            if key in stage and c_from(stage[key], terms.unit) > limit_c + 0.01:
                was_c = c_from(stage[key], terms.unit)
                stage[key] = _plain(math.floor(in_unit(limit_c, terms.unit) * 10 + 1e-6) / 10)
                lowered = f"{key} lowered from {terms.shown(was_c)} to {terms.shown(limit_c)}"
                found.sentence += f" {lowered}: this rig allows no more."
