"""The steps in which the board switches, each by its own proof after a press of start at the rig.

A computer lays a run out and looks on. What the proof does when, see the firmware's proving.py: every zone
for three seconds with the contactor open (not where a pin watches the contactor), five seconds of contactor
with every zone off, then a pulse for the first zone, for the next one only when the first has answered.

work: what every step works with. Each raises StepFailedError when it is not passed, and what asking the
person or the board raises.
"""

from collections.abc import Callable

from ribwright_board.core.errors import FAULTS

from . import judge
from .judge import Row
from .step import StepFailedError, Work
from .trial import Outcome

# A zone without its blanket does not answer; a quiet converter even repeats itself, and the hand and the
# water have shown by then that it moves. Some time after, the board shuts down over that.
NO_HEAT = ("no_rise", "weak_rise", "frozen")
HOLDS_S = 2.0
QUIET_S = 10


def _start(work: Work, on_row: Callable[[Row], None] | None = None) -> Outcome:
    """One start, pressed at the rig. Raises StepFailedError when nobody presses or the rig shuts down."""
    work.at_rest()

    def press() -> None:
        work.show("Now press start AT THE RIG. A computer cannot. It looks itself over for about a minute.")
        work.hands.press("start")

    outcome = work.trial.start(press, on_row)
    if outcome.ended == "nobody":
        raise StepFailedError("nobody", "nobody pressed start at the rig within ten minutes")
    switched = judge.switched(outcome.rows, work.zones)
    work.note("board switched, in order", ", then ".join(switched) or "nothing")
    return outcome


def _place(work: Work, outcome: Outcome) -> str:
    return f"zone {work.zones[outcome.zone]}" if 0 <= outcome.zone < len(work.zones) else "the rig"


def _expect(work: Work, outcome: Outcome, zone: int, codes: tuple[str, ...]) -> None:
    """Have a start refused for one of these codes in this zone. Raises StepFailedError."""
    name = work.zones[zone] if zone >= 0 else "the rig"
    wanted = f"{', '.join(codes)} of {name}"
    what = outcome.code if outcome.ended != "proved" else "proved"
    work.note("start was", f"{what} {_place(work, outcome)}", "", wanted)
    pulsed = zone < 0 or judge.answers_k(outcome.rows, len(work.zones))[zone] is not None
    ended = outcome.ended == "refused" or (outcome.ended, outcome.code) == ("trip", "frozen")
    if ended and pulsed and outcome.code in codes and outcome.zone == zone:
        work.at_rest()
        return
    if outcome.ended == "proved":
        raise StepFailedError("proved", f"the start checks passed, they had to be refused with {wanted}")
    figures = f", {outcome.seen:.2f} {outcome.unit} beside {outcome.limit:.2f}" if outcome.unit else ""
    advice = FAULTS[outcome.code][1] if outcome.code in FAULTS else "look at the rig"
    seen = f"{_place(work, outcome)}: {outcome.code}{figures}; it had to be {wanted} ({advice})"
    raise StepFailedError(outcome.code or outcome.ended, seen)


def _plug(work: Work, blankets: set[int]) -> None:
    work.hands.plug(blankets, len(work.zones))


def _feedback(work: Work) -> bool:
    return work.rig.rig.feedback


def pins(work: Work) -> None:
    """No load: the board drives the pins it should, and refuses the start."""
    _plug(work, set())
    first = work.heated[0]
    work.person.done(
        "Blankets off their terminals, fuses out, contactor's load side dead. Put a lamp or a meter on the "
        "control input of each zone's relay, where you see them all."
    )
    outcome = _start(work)
    _expect(work, outcome, first, NO_HEAT)
    names = [work.zones[zone] for zone in work.heated]
    if not _feedback(work) and len(names) > 1:
        work.yes(("pins", "together"), "all of them came on together first", "a zone's input stayed off")
    said = work.person.choice(("pins", "alone"), "which one came on alone, last", (*names, "none"))
    work.note("control input that came on alone", said, "", work.zones[first], "seen by the person")
    if said != work.zones[first]:
        code = "no_pin" if said == "none" else "swapped"
        raise StepFailedError(code, f"the board switched {work.zones[first]}, what came on alone was {said}")


def lamp(work: Work) -> None:
    """A lamp in place of one blanket after the other; those before it lie in the stack by then."""
    for at, zone in enumerate(work.heated):
        name = work.zones[zone]
        before = work.heated[:at]
        _plug(work, set(before))
        listed = " and ".join(work.zones[each] for each in before)
        rest = f" Connect the blanket of {listed}, in the stack, clamped." if before else ""
        work.person.done(
            f"Unplug. A lamp of 25 to 60 W at the terminals of {name}, not its blanket, its fuse in.{rest}"
            " All other blankets stay off their terminals, their fuses out. Plug in."
        )
        outcome = _start(work)
        when = work.person.choice(
            ("lamp", "lit", name),
            f"the lamp at {name} lit",
            ("after the contactor clicked", "before it clicked", "never"),
        )
        work.note(f"lamp at {name}", when, "", "after the contactor clicked", "seen by the person")
        if when == "before it clicked":
            seen = f"the lamp at {name} lit before the contactor clicked: its contacts stay closed"
            raise StepFailedError("contactor_closed", seen)
        _expect(work, outcome, zone, NO_HEAT)
        if when == "never":
            seen = f"the lamp at {name} stayed dark: fuse, relay, contactor or its lead"
            raise StepFailedError("no_lamp", seen)
        if _feedback(work):
            # Else the board had refused with the contactor's own code.
            work.note("feedback pin of the contactor", "agreed", "", "agrees", "judged by the board")
        clicks = "the contactor clicked in, and out at the end"
        work.yes(("lamp", "click", name), clicks, "the contactor did not click", "contactor")
    trips = "the test button of the GFCI or RCD tripped it, and the rig was dead"
    work.yes(("lamp", "test_button"), trips, "the GFCI or RCD did not trip on its test button", "no_trip")


def emergency(work: Work) -> None:
    """The emergency stop while the contactor is held: it drops at once, and stays out."""
    _plug(work, set())
    work.person.done(
        "Unplug; all blankets off their terminals, fuses out. Plug in. After the next press of start, press "
        "the emergency stop as soon as you hear the contactor."
    )
    done = False

    def act(row: Row) -> None:
        nonlocal done
        # A pulse: the contactor is in by then.
        if not done and 0.0 < sum(row.duties) < 1.0:
            done = True
            work.hands.emergency(pressed=True)

    try:
        outcome = _start(work, act)
        codes = ("contactor_open",) if _feedback(work) else NO_HEAT
        _expect(work, outcome, -1 if _feedback(work) else work.heated[0], codes)
    except StepFailedError:
        work.hands.emergency(pressed=False)
        raise
    dropped = "the contactor dropped at once, without waiting for the board"
    work.yes(("emergency", "dropped"), dropped, "the emergency stop did not drop it", "emergency")
    work.person.done("Release the emergency stop, and touch nothing else.")
    work.hands.emergency(pressed=False)
    modes = {row.mode for row in work.trial.rows(QUIET_S)}
    work.note(f"board for {QUIET_S} s after the release", ", ".join(sorted(modes)), "", "idle")
    if modes != {"idle"}:
        raise StepFailedError(
            "came_back", f"the rig went {', '.join(sorted(modes))} by itself after the release"
        )
    stays = "after the release nothing came back by itself"
    work.yes(("emergency", "stays"), stays, "something came back after the release", "came_back")


def cutoff(work: Work) -> None:
    """One cut-off after the other open: that zone's pulse is missed, and named."""
    _plug(work, set(work.heated))
    for zone in work.heated:
        name = work.zones[zone]
        work.person.done(
            f"Unplug. All blankets on, in the stack, clamped. Open the cut-off of {name}, or its lead beside "
            "it. Plug in."
        )
        work.hands.cut_off(zone, opened=True)
        outcome = _start(work)
        work.person.done(f"Unplug, close the cut-off of {name} again, plug in.")
        work.hands.cut_off(zone, opened=False)
        _expect(work, outcome, zone, NO_HEAT)


def stack(work: Work) -> None:
    """Everything connected: the whole proof passes, each zone with its own answer; the run is stopped."""
    _plug(work, set(work.heated))
    work.person.done(
        "All blankets on, dry scrap of sapele between the slats, form clamped, junctions in their places."
    )
    outcome = _start(work)
    work.note("start was", outcome.code or outcome.ended, "", "proved")
    for name, answer_k in zip(work.zones, judge.answers_k(outcome.rows, len(work.zones)), strict=True):
        if answer_k is not None:
            work.note(
                f"zone {name} answered its pulse with", f"{answer_k:.1f}", "K", "", "judged by the board"
            )
    if outcome.ended != "proved":
        advice = FAULTS[outcome.code][1] if outcome.code in FAULTS else "look at the rig"
        seen = f"{_place(work, outcome)}: {outcome.code} ({advice})"
        raise StepFailedError(outcome.code or outcome.ended, seen)
    modes = {row.mode for row in work.trial.rows(HOLDS_S + 1.0)}
    work.note("board after the stop from here", ", ".join(sorted(modes)), "", "idle")
    if modes - {"running"} != {"idle"}:
        raise StepFailedError("not_stopped", "the run went on after the stop")
