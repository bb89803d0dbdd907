"""The panel with its optional parts: display, knob, buzzer beside the buttons. Each may be missing or fail.

Nothing here may hold up heat, protection or the loop: at most one piece of the display is sent in a tick, and
one that does not answer is let go of until the rig rests.
"""

from ribwright_board.core.alone import Alone

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.beeps import Beeps
    from ribwright_board.core.controller import Controller
    from ribwright_board.core.faces import Face
    from ribwright_board.core.knob_list import KnobList
    from ribwright_board.core.service import Service
    from ribwright_board.core.shapes import Callable

    from .buzzer import Buzzer
    from .display import Display
    from .knob import Knob
    from .panel import Panel
    from .push import Push

# A face is made anew no more often; a display that does not answer is asked again at rest.
FACE_MS = 500
RETRY_MS = 5000
REST_MODES = ("idle", "ready", "tripped")


class Front:
    """Buttons and what is beside them.

    panel: the buttons. display, knob, buzzer, push: None where the rig has none; push is the knob's switch.
    """

    def __init__(
        self,
        panel: "Panel",
        display: "Display | None",
        knob: "Knob | None",
        buzzer: "Buzzer | None",
        push: "Push | None" = None,
    ) -> None:
        self._panel = panel
        self._display = display
        self._knob = knob
        self._buzzer = buzzer
        self._push = push
        self._beeps: Beeps | None = None
        self._alone: Alone | None = None
        self._make_face: Callable[[Controller, Alone], Face] | None = None
        self._answers = False
        self._told = False
        self._face_ms = self._asked_ms = 0
        self._now_ms = 0

    def begin(self, service: "Service") -> None:
        """Take up work, once the loop has what it needs.

        service: lays out runs, and knows the controller.
        """
        if self._knob is not None:
            import ribwright_board.core.nudging  # noqa: F401, PLC0415 - no run has to find memory for it
        if self._display is not None:
            from ribwright_board.core.faces import face  # noqa: PLC0415 - only where there is a display

            self._make_face = face
        self._alone = Alone(service)
        self._alone.sounds = self._buzzer is not None
        if self._buzzer is not None:
            from ribwright_board.core.beeps import Beeps  # noqa: PLC0415 - only where there is a buzzer

            self._beeps = Beeps(self._display is None)
        if self._push is not None and self._display is not None:
            from ribwright_board.core.knob_list import KnobList  # noqa: PLC0415 - only where it can be opened

            self._alone.acts = KnobList(service.controller)
        self._ask(service.controller.now_ms)

    def presses(self) -> tuple[str, ...]:
        """Names of buttons that went down, for the controller; some are for choosing at rest."""
        pressed = self._panel.presses()
        detents = 0 if self._knob is None else self._knob.detents()
        pushed = False
        if self._push is not None:
            pushed = self._push.step()
            if self._push.held():
                detents = 0
        alone = self._alone
        return pressed if alone is None else alone.take(pressed, detents, self._now_ms, pushed)

    def show(self, now_ms: int) -> None:
        """One tick of sound and picture.

        now_ms: present time.
        """
        self._now_ms = now_ms
        alone = self._alone
        if alone is None:
            return
        controller = alone.service.controller
        if alone.acts is not None and alone.acts.fresh:
            self._follow(alone.acts, now_ms)
        if self._buzzer is not None and self._beeps is not None:
            self._buzzer.set(self._beeps.tick(controller))
        if self._display is None:
            return
        if not self._answers:
            if controller.mode in REST_MODES and now_ms - self._asked_ms >= RETRY_MS:
                self._ask(now_ms)
            return
        try:
            if self._make_face is not None and now_ms - self._face_ms >= FACE_MS:
                self._face_ms = now_ms
                self._display.take(self._make_face(controller, alone))
            self._display.step()
        except OSError:
            self._lose()
        except MemoryError:
            # A face can wait; the loop cannot.
            alone.service.tidy()

    def _follow(self, acts: "KnobList", now_ms: int) -> None:
        """A hand at the knob sees and hears at once what comes of it."""
        acts.fresh = False
        self._face_ms = now_ms - FACE_MS
        heard, acts.heard = acts.heard, ""
        if heard and self._beeps is not None:
            self._beeps.tell(heard)

    def _ask(self, now_ms: int) -> None:
        """Set the display up, where there is one that answers."""
        self._asked_ms = now_ms
        if self._display is None or self._alone is None:
            return
        try:
            self._display.begin()
            self._answers = self._alone.shows = True
            self._told = False
            self._face_ms = now_ms - FACE_MS
        except OSError:
            self._lose()

    def _lose(self) -> None:
        """The display does not answer: go on without it, and say so once."""
        alone = self._alone
        self._answers = False
        if alone is not None:
            alone.shows = False
            if not self._told:
                alone.service.controller.note("no_display")
        self._told = True
