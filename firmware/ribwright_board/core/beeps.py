"""What the rig's buzzer sounds: on and off in ticks of 100 ms, never the only sign of anything.

Which sound tells what is our own choice, common practice, no source.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .controller import Controller

# Ticks on and off in turn, from the beginning of the sound.
SOUNDS = {
    "trip": bytes((8, 2, 8, 2, 8, 14)),
    "presence": bytes((4, 4, 4, 4, 4, 20)),
    "waiting": bytes((2, 2, 2, 94)),
    "stage": bytes((3, 1)),
    "done": bytes((2, 1, 2, 1, 8, 1)),
    "ended": bytes((8, 1)),
    "laid_out": bytes((1, 1)),
    "did": bytes((1, 1, 1, 1)),
    "refused": bytes((5, 1)),
}
# Sounded again and again while it holds, so often at most: a trip at night need not sound until morning.
MOST_TIMES = {"trip": 30, "presence": 60, "waiting": 60}
HEATED = ("running", "paused")


class Beeps:
    """Which sound plays.

    blind: no display tells that a run was laid out.
    """

    def __init__(self, blind: bool) -> None:
        self._blind = blind
        self._mode = "idle"
        self._stage = -1
        self._name = ""
        self._lasting = ""
        self._left = 0
        self._at = 0
        self._ticks = 0

    def tick(self, controller: "Controller") -> bool:
        """Whether the buzzer is on in this tick.

        controller: of the rig, after its tick.
        """
        lasting = self._lasts(controller)
        once = self._once(controller)
        if lasting != self._lasting:
            self._lasting = lasting
            # What no longer holds is silent at once; something new is heard at once.
            self._play(lasting or once)
        elif once and not lasting:
            self._play(once)
        return self._sound()

    def tell(self, name: str) -> None:
        """Sound what came of a choice at the knob; what warns is not broken into, a reminder goes on.

        name: of SOUNDS.
        """
        if self._lasting in ("", "waiting"):
            self._play(name)

    def _lasts(self, controller: "Controller") -> str:
        if controller.mode == "tripped":
            return "trip"
        waiting = controller.waiting()
        if waiting == "presence":
            return waiting
        return "waiting" if waiting == "next" else ""

    def _once(self, controller: "Controller") -> str:
        """What has just happened, "" when nothing did."""
        mode, runner = controller.mode, controller.runner
        before, self._mode = self._mode, mode
        stage = runner.index if runner is not None and mode == "running" else -1
        stage_before, self._stage = self._stage, stage
        if mode == "ready" and before == "idle":
            return "laid_out" if self._blind else ""
        if mode == "idle" and before in HEATED:
            return "done" if runner is not None and runner.finished else "ended"
        if mode == "idle" and before == "proving":
            return "ended"
        return "stage" if stage > 0 and stage != stage_before and stage_before >= 0 else ""

    def _play(self, name: str) -> None:
        self._name = name
        self._left = MOST_TIMES.get(name, 1) if name else 0
        self._at = 0
        self._ticks = SOUNDS[name][0] if name else 0

    def _sound(self) -> bool:
        """One tick of the sound that plays."""
        if not self._left:
            return False
        on = self._at % 2 == 0
        self._ticks -= 1
        if self._ticks <= 0:
            pattern = SOUNDS[self._name]
            self._at += 1
            if self._at == len(pattern):
                self._at = 0
                self._left -= 1
                if not self._left and self._lasting and self._name != self._lasting:
                    # From the pause at its end.
                    self._play(self._lasting)
                    pattern = SOUNDS[self._name]
                    self._at = len(pattern) - 1
            self._ticks = pattern[self._at]
        return on
