"""A rig without a computer: choosing a stored profile at rest, laying it out by a press, what came of it.

Heat still begins as ever: a run that is laid out waits for the next press of start. No press does both.
"""

import json

from .errors import CoreError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .knob_list import KnobList
    from .service import Service

# A finger that trembles, or a worn contact, is no second press: so long after laying out none counts.
APART_MS = 1500
# Modes in which a run is under way; what follows one of them is told until a press.
ON = ("proving", "running", "paused")


class Alone:
    """What the maker chooses at the rig.

    service: lays out runs; knows store and controller.

    shows: a display works, so that one of several profiles can be chosen. sounds: a buzzer tells that a run
    was laid out. Without either nobody could know, and nothing is laid out here. keys: of the stored
    profiles, the one that arrived last first. at: the chosen one. name: its name. said: two short lines on
    what came of the last run or press, until a press; empty when there is nothing to say. acts: the list that
    a push of the knob opens in a run, None where it has no switch.
    """

    def __init__(self, service: "Service") -> None:
        self.service = service
        self.shows = False
        self.sounds = False
        self.keys: list[str] = []
        self.at = 0
        self.name = ""
        self.said: tuple[str, str] | tuple[()] = ()
        self.acts: KnobList | None = None
        self._mode = "idle"
        self._stale = True
        self._known: object = None
        self._laid_ms = -APART_MS
        interrupted = service.controller.interrupted
        if interrupted:
            self.said = ("run %d was cut" % interrupted, "off by a reset")

    def take(
        self, pressed: tuple[str, ...], detents: int, now_ms: int, pushed: bool = False
    ) -> tuple[str, ...]:
        """Presses that go on to the controller, once this has taken its own.

        pressed: names of buttons that went down. detents: the knob turned, up or down. now_ms: present time.
        pushed: a push of the knob has just ended.
        """
        controller = self.service.controller
        mode = controller.mode
        self._follow(mode)
        acts = self.acts
        if acts is not None:
            try:
                detents = acts.take(pressed, detents, pushed, self.shows, now_ms)
            except MemoryError:
                # No list is worth the loop.
                detents = 0
                acts.close(now_ms)
                self.service.tidy()
        if mode == "running" and detents:
            # Loaded at the start where there is a knob: no run has to find the memory.
            from .nudging import nudge  # noqa: PLC0415 - and nowhere else

            nudge(controller, detents)
        if mode == "ready" and now_ms - self._laid_ms < APART_MS:
            return tuple([name for name in pressed if name != "start"])
        if mode != "idle":
            return pressed
        if self.said:
            if pressed or detents or pushed:
                self.said = ()
            return ()
        self._look()
        step = detents + (1 if "next" in pressed else 0)
        if step and self.shows and self.keys:
            self.at = (self.at + step) % len(self.keys)
            self._read_name()
        if "start" in pressed and "stop" not in pressed and (self.shows or self.sounds):
            self._lay_out(now_ms)
        return ()

    def _follow(self, mode: str) -> None:
        """Remember what a run that has just ended came to."""
        before, self._mode = self._mode, mode
        if mode != "idle" or before not in ON:
            return
        controller = self.service.controller
        refusal, runner = controller.refusal, controller.runner
        if refusal is not None:
            self.said = ("does not begin:", refusal.code.replace("_", " "))
        elif runner is not None and runner.finished:
            self.said = ("run %d is done" % controller.run, "may be hot still")
        else:
            self.said = ("run %d stopped" % controller.run, "stack may be hot")

    def _look(self) -> None:
        """See what is stored; a profile that has just arrived is the chosen one."""
        arrived = self.service.bulk.uploaded
        if arrived is not self._known:
            self._known = arrived
            self._stale = True
        if not self.shows and self.at:
            # Unseen, only the one that arrived last.
            self._stale = True
        if self._stale:
            self._stale = False
            self.keys = list(reversed(self.service.store.profile_keys()))
            self.at = 0
            self._read_name()

    def _read_name(self) -> None:
        if not self.keys:
            self.name = ""
            return
        key = self.keys[self.at]
        self.name = key
        try:
            name = json.loads(self.service.store.get_profile(key) or b"")["name"]
            self.name = name if isinstance(name, str) else key
        except (KeyError, TypeError, ValueError, RuntimeError, OSError, MemoryError):
            # Its hash will have to do; laying it out says what is wrong.
            self.name = key
        self.service.tidy()

    def _lay_out(self, now_ms: int) -> None:
        if not self.keys:
            self.said = ("no profile here", "upload one first")
            return
        try:
            self.service.lay_out(self.keys[self.at])
            self._laid_ms = now_ms
        except CoreError as error:
            self.said = ("not laid out:", error.code.replace("_", " "))
        except (OSError, ValueError):
            self.said = ("not laid out:", "flash failed")
        except MemoryError:
            self.said = ("not laid out:", "memory")
