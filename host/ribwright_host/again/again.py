"""A whole run taken over: what side two is asked, what could not be carried over, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ribwright_board.core import profile as core_profile
from ribwright_board.core.errors import fault_name
from ribwright_board.core.profile_values import Profile
from ribwright_board.core.rig_values import Rig
from ribwright_host.book.compare import LIMITS
from ribwright_host.book.heat import run_sums
from ribwright_host.errors import FileError
from ribwright_host.runlog import RunLog
from ribwright_host.side import facts as side_facts
from ribwright_host.side.kept import laid_words

from .took import Terms, Took, took
from .went import LOST, STOPPED, TRIPPED, Went, stages_of

Values = dict[str, Any]

NAME_MOST = 40
# Up to which the notebook calls two blanks, and two starts, alike.
ALIKE_MM = next(limit.least for limit in LIMITS if limit.name == "thickness_mm")
ALIKE_START_K = next(limit.least for limit in LIMITS if limit.name == "start_c")


@dataclass(frozen=True)
class Wish:
    """What is said of side two. file: that the run was read from, for errors. rig, rig_hash: that it is bent
    on, None where not known. same_rig: another hash, but the rig is the one it was. thickness_mm: of one ply,
    None for that of side one. up_to: last stage to repeat, counted from 1, None for all.
    """

    file: str
    rig: Rig | None = None
    rig_hash: str | None = None
    same_rig: bool = False
    thickness_mm: float | None = None
    up_to: int | None = None


@dataclass
class Again:
    """The answer. mapping: the new profile as the board gets it. side: its [side], None without one. took:
    stage by stage. words: what holds for all of it. hand, piece: of side one, None where not kept.
    """

    mapping: Values
    side: Values | None
    took: list[Took]
    words: list[str] = field(default_factory=list)
    hand: str | None = None
    piece: str | None = None


def repeated(run: RunLog, wish: Wish) -> Again:
    """Side one as it was actually run, as a profile.

    run: as read. wish: what is said of side two. Raises FileError: no_profile, nothing_run, cut_short, up_to,
    or the checker's own code where what was done is no profile.
    """
    stated = run.header.get("profile")
    if not run.stages() or not isinstance(stated, dict):
        raise FileError(
            f"{wish.file} does not hold the profile it ran, or one that this version cannot read",
            "fetch the run again, or begin from the profile's own file",
            code="no_profile",
        )
    profile = core_profile.parse(stated)
    went = stages_of(run)
    if not went:
        raise FileError(
            f"{wish.file} holds no second of any stage, so there is nothing to repeat",
            "name the run in which side one was bent: ribwright runs",
            code="nothing_run",
        )
    chosen = _chosen(run, went, profile, wish)
    piece = dict(stated["piece"])
    thicker = wish.thickness_mm is not None and abs(wish.thickness_mm - piece["thickness_mm"]) > ALIKE_MM
    doubt = _doubt(run, wish, piece["thickness_mm"], thicker=thicker)
    if wish.thickness_mm is not None:
        piece["thickness_mm"] = wish.thickness_mm
    mapping, taken = _mapping(stated, profile, chosen, piece, Terms(profile.unit, wish.rig, doubt))
    _check(mapping, wish)
    hand, name = run.laid.get("hand"), run.laid.get("piece")
    side, words = _side(run, mapping)
    return Again(
        mapping,
        side,
        taken + _not_run(profile, went, chosen),
        [*_about(run, wish), *words, _start_words(run, profile.unit)],
        str(hand) if hand in side_facts.HANDS else None,
        str(name) if name else None,
    )


def _chosen(run: RunLog, went: Sequence[Went], profile: Profile, wish: Wish) -> list[Went]:
    """The stages to repeat; a run that was cut short only as far as is asked for."""
    last = went[-1]
    kind = profile.stages[last.index].kind
    easy = last.ended == STOPPED and kind == "cool"
    # A ramp that did not arrive came to no target; any other stage was held as long as it was.
    able = [one.index + 1 for one in went if not one.cut or profile.stages[one.index].kind != "ramp"]
    if wish.up_to is None:
        if not last.cut or easy:
            return list(went)
        hint = f"to repeat what was done: add --up-to {able[-1]}" if able else "bend by the profile itself"
        raise FileError(
            f"{wish.file} {_cut_words(run, last)} in stage {last.index + 1}, "
            f"{profile.stages[last.index].name}, so it is no whole side",
            hint,
            code="cut_short",
        )
    if wish.up_to not in able:
        listed = ", ".join(str(number) for number in able) or "none"
        raise FileError(
            f"{wish.file} cannot be repeated up to stage {wish.up_to}; stages it went through: {listed}",
            "name one of these",
            code="up_to",
        )
    return [one for one in went if one.index < wish.up_to]


def _cut_words(run: RunLog, last: Went) -> str:
    trips = [event for event in run.events if event.name == "trip"]
    if last.ended == TRIPPED and trips:
        trip = trips[-1]
        zone = f", {run.zones[trip.zone]}" if 0 <= trip.zone < len(run.zones) else ""
        return f"was shut down by the rig ({fault_name(trip.a)}{zone})"
    return "ends without an end in the record" if last.ended == LOST else "was stopped"


def _doubt(run: RunLog, wish: Wish, thickness_mm: float, *, thicker: bool) -> str:
    """Why held times and moved targets of side one do not carry over; "" where they do."""
    if thicker:
        return f"the wood is {wish.thickness_mm:g} mm thick instead of {thickness_mm:g} mm"
    if wish.rig_hash is not None and wish.rig_hash != run.word("rig") and not wish.same_rig:
        return f"they are of rig {run.word('rig')}, this is {wish.rig_hash} (the same one? say --same-rig)"
    return ""


def _mapping(
    stated: Mapping[str, Any], profile: Profile, chosen: Sequence[Went], piece: Values, terms: Terms
) -> tuple[Values, list[Took]]:
    """The new profile and what became of each stage; holds are not split where that makes too many stages."""
    listed = stated["stages"]
    taken = [took(listed[one.index], profile.stages[one.index], one, terms) for one in chosen]
    if sum(len(one.stages) for one in taken) >= core_profile.MAX_STAGES and terms.split:
        terms = Terms(terms.unit, terms.rig, terms.doubt, split=False)
        return _mapping(stated, profile, chosen, piece, terms)
    stages = [stage for one in taken for stage in one.stages]
    if not stages or stages[-1]["kind"] != "cool":
        last = Took(len(listed), profile.stages[-1].name)
        last.ask(dict(listed[-1]), "not run on side one: every profile ends in it")
        last.sentence = "added, since every profile ends by cooling on the form."
        taken.append(last)
        stages += last.stages
    name = f"{profile.name[: NAME_MOST - len(', again')]}, again".replace(", again, again", ", again")
    return {
        "schema": core_profile.SCHEMA,
        "name": name,
        "unit": profile.unit,
        "piece": piece,
        "stages": stages,
    }, taken


def _check(mapping: Values, wish: Wish) -> None:
    """The board's own checker, with the rig's limits where the rig is known."""
    problems = core_profile.check(mapping, wish.rig)
    if problems:
        text, _, hint = problems[0].text.partition("; ")
        seen = f"{wish.file} cannot be repeated here: {problems[0].place()} {text}"
        raise FileError(seen, hint or "bend by a profile for this rig", code=problems[0].code)


def _not_run(profile: Profile, went: Sequence[Went], chosen: Sequence[Went]) -> list[Took]:
    """Stages of the profile that are not in the new one, each with why."""
    there = {one.index for one in went}
    kept = {one.index for one in chosen}
    found = []
    for index, stage in enumerate(profile.stages):
        if index in kept or (index == len(profile.stages) - 1 and stage.kind == "cool"):
            continue
        why = "left out: side one was not to be repeated so far."
        if index not in there:
            after = index < max(there)
            why = "left out: side one skipped it." if after else "left out: side one did not come to it."
            if index < min(there):
                why = f"left out: this run began with stage {min(there) + 1}."
        found.append(Took(index + 1, stage.name, sentence=why))
    return found


def _side(run: RunLog, mapping: Values) -> tuple[Values | None, list[str]]:
    """The [side] that was kept with the run, if it may still be used."""
    stated = run.laid.get("side")
    if not isinstance(stated, dict):
        return None, ["How side one lay was not kept, so the file has no [side]."]
    problems = side_facts.problems_of(stated, mapping, None)
    if problems:
        return None, [f"How side one lay is not taken over: {problems[0].place()} {problems[0].text}."]
    return dict(stated), []


def _about(run: RunLog, wish: Wish) -> list[str]:
    """Which run it was, and which rig."""
    mark = "SIMULATED, no wood was bent. " if run.simulated else ""
    which = laid_words(run.laid) or "which side it was is not known"
    told = [f"{mark}Side one: run {run.word('run')} of board {run.word('board')[-6:]}, {which}."]
    if wish.rig_hash is None:
        told.append("Not compared with a rig: name its file with --rig.")
    elif wish.rig_hash == run.word("rig"):
        told.append(f"Rig {wish.rig_hash}, the same as side one's.")
    elif wish.same_rig:
        told.append(f"Rig {wish.rig_hash} instead of {run.word('rig')}: taken for the same one, as you said.")
    else:
        told.append(
            f"Rig {wish.rig_hash}, side one's was {run.word('rig')}: another blanket heats the wood "
            "otherwise at the same reading."
        )
    told += [f"Missing from the record: {problem}." for problem in run.problems]
    return told


def start_c_of(run: RunLog) -> float | None:
    """Mean of the readings as a run began, C, or None.

    run: as read.
    """
    return run_sums(run)[0].start_c


def _start_words(run: RunLog, unit: str) -> str:
    start_c = start_c_of(run)
    began = "an unknown temperature" if start_c is None else Terms(unit).shown(round(start_c))
    return (
        f"Side one began at {began}. On a form that is still warm the ramps are over sooner, and nothing "
        "else changes: they go by arrival, and holds count from there, within their band. Compare the "
        "estimate of the wood on the screen with what stands beside each stage in the file."
    )


def warm_words(run: RunLog, now_c: Sequence[float], unit: str) -> str:
    """What the present readings mean beside side one's start; "" where nothing can be said.

    run: of side one. now_c: readings of the zones. unit: to show.
    """
    start_c = start_c_of(run)
    if start_c is None or not now_c:
        return ""
    terms = Terms(unit)
    mean_c = sum(now_c) / len(now_c)
    told = (
        f"The stack reads {terms.shown(round(mean_c))} now, side one began at {terms.shown(round(start_c))}"
    )
    if abs(mean_c - start_c) <= ALIKE_START_K:
        return (
            f"{told}: alike by the thermocouples, which lie at the blankets and are cool before the form is. "
            "A form still warm inside takes less heat out of the wood, unseen: wait until the form itself is "
            "cool, by a thermometer on it (`ribwright book add --form-at` notes it) or as many hours open as "
            "before side one."
        )
    if mean_c < start_c:
        return f"{told}: the ramps take longer, holds count from arrival all the same."
    return (
        f"{told}: the ramps are over sooner and the wood has had less time to follow, while a warm form "
        "takes less heat out of it. Nothing was shortened or lengthened for that. To have both sides alike, "
        f"let the stack cool below {terms.shown(round(start_c + ALIKE_START_K))} first."
    )
