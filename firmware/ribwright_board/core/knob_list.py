"""What a maker may ask of a run under way at the knob: a short list, which a push of the knob opens.

Turning goes through it and the next push asks for what is chosen: by the same functions as a computer does,
within the same bounds. Whatever cannot be done now is not in the list. None of it arms anything, clears a
trip or adds heat to a rig that is off; a touch is a sign of presence, as a turn of the knob ever is.
"""

from .acts import MARKED, MARKS, Extension, carry_out
from .errors import CoreError
from .nudging import KINDS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .controller import Controller
    from .stages import StageRunner

# It closes by itself after so long without a touch.
OPEN_MS = 10000
# What came of a choice is told for so long.
SAID_MS = 3000
# A hand that still turns as the list closes does not mean the target.
QUIET_MS = 1000
# Behind the marks, in the order in which a bend needs them.
MINUTES = (1, 5)
OTHERS = ("1 min longer", "5 min longer", "back off", "pause", "leave list")
EXTEND = len(MARKS)
BACK_OFF, PAUSE, LEAVE = EXTEND + 2, EXTEND + 3, EXTEND + 4
# Refusals whose code says too little by itself.
NO = {"bound": "no more left", "too_soon": "wait a bit", "stage_kind": "not here"}


def words(entry: int) -> str:
    """An entry in words for the display.

    entry: a mark's place in MARKS, or one of those behind them.

    >>> words(0), words(EXTEND + 1), words(LEAVE)
    ('gave way', '5 min longer', 'leave list')
    """
    return MARKS[entry].replace("_", " ") if entry < EXTEND else OTHERS[entry - EXTEND]


class KnobList:
    """The list at one rig's knob.

    controller: of the rig.

    open: turning goes through the list and moves no target. said: two lines on what came of the last choice,
    for a while. heard: the sound of it, until somebody plays it. fresh: something else is to be shown.
    """

    def __init__(self, controller: "Controller") -> None:
        self.open = False
        self.said: tuple[str, str] | tuple[()] = ()
        self.heard = ""
        self.fresh = False
        self._controller = controller
        self._there = b""
        self._at = 0
        self._mode = self._waiting = ""
        self._stage = 0
        self._touched_ms = self._closed_ms = -QUIET_MS

    def take(self, pressed: tuple[str, ...], detents: int, pushed: bool, shows: bool, now_ms: int) -> int:
        """Detents that are left to move the target with.

        pressed: names of buttons that went down; they act as ever. detents: the knob turned, up or down.
        pushed: a push has just ended. shows: a display works; without one nobody could see the list. now_ms:
        present time.
        """
        closed_ms = now_ms - self._closed_ms
        if self.said and (pressed or closed_ms >= SAID_MS):
            self._tell(())
        if not self.open and not pushed and closed_ms >= QUIET_MS:
            return detents
        if (pushed or detents) and self._answers():
            self.close(now_ms)
        elif self.open:
            changed = pressed or not shows or self._changed()
            if changed or (now_ms - self._touched_ms >= OPEN_MS and not pushed and not detents):
                self.close(now_ms)
            else:
                self._go_on(detents, pushed, now_ms)
        elif pushed and shows and not pressed:
            self._open(now_ms)
        return 0

    def close(self, now_ms: int) -> None:
        """The list is gone; now_ms: present time."""
        if self.open:
            self.open = False
            self._closed_ms = now_ms
            self._tell(())

    def low(self) -> "tuple[str, str] | tuple[()]":
        """The low lines of the display: the chosen entry and the one after it, or what came of one; empty
        when there is nothing to show.
        """
        if not self.open:
            return self.said
        there = self._there
        return "> " + words(there[self._at]), "  " + words(there[(self._at + 1) % len(there)])

    def _tell(self, said: "tuple[str, str] | tuple[()]") -> None:
        self.said = said
        self.fresh = True

    def _answers(self) -> bool:
        """A touch in a run; whether it was the answer to a question, and then it is no more than that."""
        controller = self._controller
        course = controller.course
        if course is None or controller.mode not in MARKED or not course.attend.touch():
            return False
        controller.note("presence_given")
        return True

    def _changed(self) -> bool:
        """Whether the rig does or asks something else than when the list was opened."""
        controller = self._controller
        runner = controller.runner
        stage = runner.index if runner is not None else -1
        return controller.mode != self._mode or stage != self._stage or controller.waiting() != self._waiting

    def _open(self, now_ms: int) -> None:
        controller = self._controller
        runner = controller.runner
        if runner is None or runner.stage is None or controller.mode not in MARKED:
            return
        self._there = self._possible(runner)
        self._at = 0
        self._mode, self._stage, self._waiting = controller.mode, runner.index, controller.waiting()
        self._touched_ms = now_ms
        self.open = True
        self._tell(())

    def _possible(self, runner: "StageRunner") -> bytes:
        """The entries that would not be refused now."""
        found = list(range(EXTEND))
        stage = runner.stage
        if stage is not None and self._controller.mode == "running":
            if stage.kind in KINDS:
                left_min = (runner.by_hand.extension or Extension(0, 0)).left_min(stage)
                found += [EXTEND + at for at in range(len(MINUTES)) if MINUTES[at] <= left_min]
            if stage.kind not in ("set", "cool"):
                found.append(BACK_OFF)
            found.append(PAUSE)
        return bytes(found + [LEAVE])

    def _go_on(self, detents: int, pushed: bool, now_ms: int) -> None:
        """Turned or pushed, with the list open."""
        if pushed:
            entry = self._there[self._at]
            self.close(now_ms)
            if entry != LEAVE:
                self._choose(entry)
        elif detents:
            self._touched_ms = now_ms
            self._at = (self._at + detents) % len(self._there)
            self.fresh = True

    def _choose(self, entry: int) -> None:
        try:
            self._ask(entry)
            outcome, self.heard = ("noted" if entry < EXTEND else "done"), "did"
        except CoreError as error:
            outcome = "no: " + NO.get(error.code, error.code.replace("_", " "))
            self.heard = "refused"
        # A pause is told by the whole display, with what goes on from there.
        self._tell(() if entry == PAUSE and self.heard == "did" else (words(entry), outcome))

    def _ask(self, entry: int) -> None:
        """What a computer would ask for."""
        controller = self._controller
        if entry < EXTEND:
            carry_out(controller, "mark", {"what": MARKS[entry]})
        elif entry == BACK_OFF:
            carry_out(controller, "back_off", {})
        elif entry == PAUSE:
            controller.pause()
        else:
            carry_out(controller, "extend", {"minutes": MINUTES[entry - EXTEND]})
