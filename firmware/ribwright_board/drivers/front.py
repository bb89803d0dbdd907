"""The panel with its optional parts: display, knob, buzzer beside the buttons. Each may be missing or fail.

Nothing here may hold up heat, protection or the loop: at most one piece of the display is sent in a tick, and
one that does not answer is let go of until the rig rests.
"""

import machine

from ribwright_board.core import nudging
from ribwright_board.core.alone import Alone
from ribwright_board.core.faces import face

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.beeps import Beeps
    from ribwright_board.core.service import Service

    from .buzzer import Buzzer
    from .display import Display
    from .knob import Knob
    from .panel import Panel

I2C_HERTZ = 400_000
# A display that holds the bus costs a tick no more than this; a piece takes 3.5 ms.
I2C_TIMEOUT_US = 6000
# A face is made anew no more often; a display that does not answer is asked again at rest.
FACE_MS = 500
RETRY_MS = 5000
REST_MODES = ("idle", "ready", "tripped")


class Front:
    """Buttons and what is beside them.

    panel: the buttons. display, knob, buzzer: None where the rig has none.
    """

    def __init__(
        self, panel: "Panel", display: "Display | None", knob: "Knob | None", buzzer: "Buzzer | None"
    ) -> None:
        self._panel = panel
        self._display = display
        self._knob = knob
        self._buzzer = buzzer
        self._beeps: Beeps | None = None
        self._alone: Alone | None = None
        self._answers = False
        self._told = False
        self._face_ms = self._asked_ms = 0
        self._now_ms = 0

    def begin(self, service: "Service") -> None:
        """Take up work, once the loop has what it needs.

        service: lays out runs, and knows the controller.
        """
        nudging.bounds_k  # noqa: B018 - loaded now, so that no run has to find memory for it
        self._alone = Alone(service)
        self._alone.sounds = self._buzzer is not None
        if self._buzzer is not None:
            from ribwright_board.core.beeps import Beeps  # noqa: PLC0415 - only where there is a buzzer

            self._beeps = Beeps(self._display is None)
        self._ask(service.controller.now_ms)

    def presses(self) -> tuple[str, ...]:
        """Names of buttons that went down, for the controller; some are for choosing at rest."""
        pressed = self._panel.presses()
        detents = 0 if self._knob is None else self._knob.detents()
        alone = self._alone
        return pressed if alone is None else alone.take(pressed, detents, self._now_ms)

    def show(self, now_ms: int) -> None:
        """One tick of sound and picture.

        now_ms: present time.
        """
        self._now_ms = now_ms
        alone = self._alone
        if alone is None:
            return
        controller = alone.service.controller
        if self._buzzer is not None and self._beeps is not None:
            self._buzzer.set(self._beeps.tick(controller))
        if self._display is None:
            return
        if not self._answers:
            if controller.mode in REST_MODES and now_ms - self._asked_ms >= RETRY_MS:
                self._ask(now_ms)
            return
        try:
            if now_ms - self._face_ms >= FACE_MS:
                self._face_ms = now_ms
                self._display.take(face(controller, alone))
            self._display.step()
        except OSError:
            self._lose()
        except MemoryError:
            # A face can wait; the loop cannot.
            alone.service.tidy()

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


def front(panel: "Panel", parts: "dict[str, int | str]", board: str) -> Front:
    """The parts that a rig states.

    panel: its buttons. parts: its pins, as the host writes them into pins.py. board: pico, pico2 or esp32.
    """
    pulled = machine.Pin.PULL_UP
    display = knob = buzzer = None
    if "display" in parts:
        from .display import Display  # noqa: PLC0415 - each part is loaded only where it is

        sda, scl = int(parts["sda"]), int(parts["scl"])
        # The two buses take turns along the pins of a Pico; any pin reaches those of an ESP32.
        number = 0 if board == "esp32" else sda >> 1 & 1
        display = Display(
            machine.I2C(
                number,
                scl=machine.Pin(scl),
                sda=machine.Pin(sda),
                freq=I2C_HERTZ,
                timeout=I2C_TIMEOUT_US,
            )
        )
    if "knob_a" in parts:
        from .knob import Knob  # noqa: PLC0415 - as above

        a, b = [machine.Pin(int(parts[key]), machine.Pin.IN, pulled) for key in ("knob_a", "knob_b")]
        knob = Knob(a, b)
    if "buzzer" in parts:
        from .buzzer import Buzzer  # noqa: PLC0415 - as above

        buzzer = Buzzer(int(parts["buzzer"]), parts.get("buzzer_type") == "passive")
    return Front(panel, display, knob, buzzer)
