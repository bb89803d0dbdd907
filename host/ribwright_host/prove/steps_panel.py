"""The step of the panel: its buttons, and display, knob and buzzer where the rig has them. Nothing heats.

At rest a board tells nothing of a button or a detent. With a display it lays out the profile that is shown,
by a press of start, and says which one: so three trials are stored, and what was laid out tells where next
and the knob went. Without a display, but with a buzzer, a first press after a run that was stopped only takes
its word away, so a start that lays out shows that something was pressed or turned before; so is the knob's
push seen on every rig that has its switch. What shows in neither way is measured by the person.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Any

from ribwright_board.core.units import in_unit
from ribwright_host.errors import HostError
from ribwright_host.link import put_profile

from .record import Record
from .step import StepFailedError, Work
from .trial import trial_profile

STEP, STATED, ALONE = "panel", "beside its buttons", "buttons alone"
TRIALS = ("trial one", "trial two", "trial three")
NO_SIGHT = "none"
# Seconds of the board's clock in which something is pressed or turned; in which it goes no further by itself.
PRESS_S, STAYS_S = 60.0, 3.0
# Between two presses: the board takes no start sooner after one that laid a run out.
APART_S = 2.0
# What is shown is rounded, and may be half a second old.
FIGURE_OFF_K = 2.0
BY_BOARD, BY_METER = "judged by the board", "measured by the person"


def stated(rig: Mapping[str, Any]) -> str:
    """What the panel has beside its buttons, with pins, in words.

    rig: values of its file.

    >>> stated({"panel": {"knob_b": 7, "knob_a": 6}}), stated({})
    ('knob_a 6, knob_b 7', 'buttons alone')
    """
    return ", ".join(f"{key} {value}" for key, value in sorted(rig.get("panel", {}).items())) or ALONE


def changed(record: Record, rig: Mapping[str, Any]) -> bool:
    """Whether another panel was shown than the rig file states now; its hash leaves the panel out.

    record: so far. rig: values of its file.
    """
    step = record.steps.get(STEP)
    seen = [figure.seen for figure in step.figures if figure.name == STATED] if step else []
    return bool(seen) and seen[-1] != stated(rig)


def panel(work: Work) -> None:
    """Each button is seen, the knob counts the right way, what is shown is read off, what sounds is heard.

    work: what the step works with. Raises StepFailedError when it is not passed, and what asking the person
    or the board raises.
    """
    parts = work.rig.mapping.get("panel", {})
    work.note(STATED, stated(work.rig.mapping))
    work.at_rest()
    keys = [put_profile(work.trial.link, trial_profile(work.rig, name))["hash"] for name in TRIALS[::-1]]
    at = _Panel(work, keys[::-1])
    shows, sounds, turns = "display" in parts, "buzzer" in parts, "knob_a" in parts
    try:
        at.stop()
        if shows:
            at.display()
            at.chosen_with_display(turns=turns)
        elif sounds:
            at.begin()
            if turns:
                at.counted("knob", "turn the knob by one detent", lambda: work.hands.turn(1))
                at.begin()
            at.counted("next", "press next", lambda: work.hands.press("next"))
        else:
            at.begin_laid_out()
        if not shows and not sounds:
            at.measured_next()
        if turns and not shows:
            at.measured_knob()
        if sounds:
            heard = "the buzzer sounded for about a second as the start was broken off"
            work.yes(("panel", "buzzer"), heard, "the buzzer was silent: its wires, or its type", "silent")
        if "knob_push" in parts:
            # The start that was broken off has left its word.
            at.counted("push", "push the knob", lambda: work.hands.press("push"))
    finally:
        # Nobody leaves a run behind that a press would begin.
        with suppress(HostError):
            work.trial.link.ask("stop")


class _Panel:
    """The panel under trial. keys: hashes of the trials, in the order in which they are shown."""

    def __init__(self, work: Work, keys: list[str]) -> None:
        self.work = work
        self.keys = keys

    def _see(self, text: str, act: Callable[[], None], before: str) -> str:
        """Have something done at the rig; the mode it led to, `before` where nothing came of it. Raises
        StepFailedError for a shutdown.
        """
        self.work.show(f"{text} AT THE RIG.")
        act()
        for row in self.work.trial.rows(PRESS_S):
            if row.mode == "tripped":
                code = str((self.work.trial.status().get("trip") or {}).get("code", "tripped"))
                raise StepFailedError(code, f"the board shut down: {code}")
            if row.mode != before:
                return row.mode
        return before

    def _wait(self, seconds: float) -> None:
        for _ in self.work.trial.rows(seconds):
            pass

    def _then_start(self, act: Callable[[], None]) -> Callable[[], None]:
        """What hands at a virtual rig do: this, and a little later a press of start."""

        def both() -> None:
            act()
            self._wait(APART_S)
            self.work.hands.press("start")

        return both

    def _lay_out(self) -> None:
        self.work.trial.link.ask("ready", {"profile": self.keys[0]})

    def _start(self, before: str, text: str = "Press start once") -> str:
        """One press of start; the mode it led to. Raises StepFailedError where it led nowhere."""
        mode = self._see(text, lambda: self.work.hands.press("start"), before)
        if mode == before:
            raise _unseen("start", f"the rig stayed {before}")
        return mode

    def stop(self) -> None:
        """A press of stop ends a run that is laid out; a second one takes an earlier run's word away."""
        self._lay_out()
        mode = self._see("Press stop", lambda: self.work.hands.press("stop"), "ready")
        if mode != "idle":
            raise _unseen("stop", f"the rig was {mode}, it had to come to rest")
        self.work.note("stop", "seen", "", "seen once", BY_BOARD)
        if self.work.rig.mapping.get("panel"):
            self.work.person.done("Press stop once more AT THE RIG, whatever is shown.")
            self.work.hands.press("stop")
            self._wait(APART_S)

    def display(self) -> None:
        """The figure and the name that are shown, read off."""
        work = self.work
        unit = str(work.rig.mapping["unit"])
        said = work.person.text(("panel", "figure"), f"the large figure on the display, {NO_SIGHT} when dark")
        known = [zone[1] for zone in work.trial.status()["zones"] if zone[1] is not None]
        if not known:
            raise StepFailedError("no_reading", "no zone gives a reading, the display has none to show")
        # At rest the hottest zone is shown.
        shown = in_unit(max(known) / 10, unit)
        least = shown - FIGURE_OFF_K * (1.8 if unit == "F" else 1.0)
        most = 2 * shown - least
        limit = f"{least:.0f} to {most:.0f} {unit}"
        work.note("figure on the display", said, unit, limit, "read off by the person")
        try:
            off = not least <= float(said.replace(",", ".")) <= most
        except ValueError:
            seen = f"the display shows no figure ({said}): its four wires, its address, its supply"
            raise StepFailedError("no_display", seen) from None
        if off:
            seen = f"the display shows {said} {unit}, the board reads {shown:.0f} {unit}"
            raise StepFailedError("other_figure", f"{seen}, {limit} are allowed")
        name = work.person.choice(("panel", "name"), "the name below it", (*TRIALS, NO_SIGHT))
        work.note("name on the display", name, "", TRIALS[0], "read off by the person")
        if name != TRIALS[0]:
            seen = f"the display names {name}, the board holds {TRIALS[0]} up: press stop once, and try again"
            raise StepFailedError("other_name", seen)

    def _chosen(self, text: str, act: Callable[[], None]) -> str:
        """Have something chosen and laid out by start; the trial's name, "" for a profile that is none."""
        mode = self._see(f"{text}, then press start once", self._then_start(act), "idle")
        if mode == "idle":
            raise _unseen("start", "nothing was laid out within a minute")
        if mode != "ready":
            raise StepFailedError(
                "twice", f"the rig is {mode}: start was pressed twice, or its contact chatters"
            )
        found = str((self.work.trial.status().get("profile") or {}).get("hash"))
        self.work.trial.link.ask("stop")
        self._wait(STAYS_S)
        return TRIALS[self.keys.index(found)] if found in self.keys else ""

    def chosen_with_display(self, *, turns: bool) -> None:
        """Start lays out what is shown; next and the knob go on from there, each by one."""
        hands, note = self.work.hands, self.work.note
        first = self._chosen("Touch neither next nor knob", lambda: None)
        note("start laid out", first or "another profile", "", TRIALS[0], BY_BOARD)
        if first != TRIALS[0]:
            seen = f"start laid out {first or 'another profile'}, the display showed {TRIALS[0]}"
            raise StepFailedError("other_name", f"{seen}: next or the knob moves by itself")
        after = self._chosen("Press next once", lambda: hands.press("next"))
        note("after next, start laid out", after or "another profile", "", TRIALS[1], BY_BOARD)
        if after == TRIALS[0]:
            raise _unseen(
                "next", "what start laid out did not change, as with a display that does not answer"
            )
        if after != TRIALS[1]:
            raise StepFailedError(
                "twice", "next counted more than once: its contact chatters, or was pressed twice"
            )
        if turns:
            self._knob(1, "clockwise", TRIALS[2], TRIALS[0])
            self._knob(-1, "anticlockwise", TRIALS[1], "")
        self.begin()

    def _knob(self, detents: int, way: str, right: str, crossed: str) -> None:
        """One detent; right: what it goes to. crossed: what it goes to with its contacts exchanged."""
        before = TRIALS[1] if detents > 0 else TRIALS[2]
        found = self._chosen(f"Turn the knob {way} by one detent", lambda: self.work.hands.turn(detents))
        self.work.note(
            f"after a detent {way}, start laid out", found or "another profile", "", right, BY_BOARD
        )
        if found == right:
            return
        if found == before:
            seen = f"a detent {way} changed nothing: its two contacts, their common wire"
            raise StepFailedError("dead", seen)
        if found == crossed and detents > 0:
            seen = (
                f"a detent {way} counted down: knob_a and knob_b are exchanged, in the wires or in the file"
            )
            raise StepFailedError("swapped", seen)
        seen = f"a detent {way} went to {found or 'another profile'}, it had to go to {right}"
        raise StepFailedError("skips", f"{seen}: turned by more than one detent, or a contact that chatters")

    def begin(self) -> None:
        """A press lays out, the next one begins, which is stopped from here at once."""
        mode = self._start("idle")
        if mode == "ready":
            self._wait(STAYS_S)
            mode = self.work.trial.status()["mode"]
        if mode != "ready":
            seen = f"one press of start made the rig {mode}: pressed twice, or its contact chatters"
            raise StepFailedError("twice", seen)
        self._begin_ready()

    def begin_laid_out(self) -> None:
        """As begin(), for a rig on which only a computer lays out."""
        self._lay_out()
        self._wait(APART_S)
        self._begin_ready()

    def _begin_ready(self) -> None:
        mode = self._start("ready", "Press start once more")
        self.work.trial.link.ask("stop")
        if mode != "proving":
            raise StepFailedError("busy", f"after start the rig was {mode}, it had to look itself over")
        self.work.note("start", "seen", "", "seen once", BY_BOARD)
        self._wait(STAYS_S)

    def counted(self, what: str, text: str, act: Callable[[], None]) -> None:
        """Where nothing is shown: after a run that was stopped something has to be pressed before a start."""
        mode = self._see(f"First {text}, then press start once", self._then_start(act), "idle")
        if mode != "ready":
            raise _unseen(what, "start after it laid nothing out")
        self.work.note(what, "seen", "", "seen", BY_BOARD)
        self.work.trial.link.ask("stop")
        self._wait(STAYS_S)

    def measured_next(self) -> None:
        """Next goes on in a run and shows nothing at rest: a meter tells."""
        what = "a meter between the pin of next and 0 V shows 3.3 V, and 0 V while next is pressed"
        self.work.yes(("panel", "next"), what, "next does not pull its pin to 0 V", "next")

    def measured_knob(self) -> None:
        """Which way it counts shows in a hold alone: a meter tells which contact closes first."""
        ask = "turned slowly clockwise, by a meter from pin to 0 V, which contact closes first"
        said = self.work.person.choice(("panel", "knob"), ask, ("knob_a", "knob_b", NO_SIGHT))
        self.work.note("contact of the knob that closes first, clockwise", said, "", "knob_a", BY_METER)
        if said == NO_SIGHT:
            raise StepFailedError("dead", "no contact of the knob closes: its common wire, its two contacts")
        if said != "knob_a":
            seen = "knob_b closes first: they are exchanged, in the wires or in the file"
            raise StepFailedError("swapped", seen)


def _unseen(button: str, seen: str) -> StepFailedError:
    """The no for a button or knob that did nothing; seen: what was seen instead."""
    why = f"{seen}: a broken wire, a contact that is stuck closed, or another pin than the rig file's"
    return StepFailedError(f"no_{button}", f"{button} was not seen within {PRESS_S:.0f} s; {why}")
