"""The person at the rig: reads what the board tells, presses buttons, presses the strip onto the form.

Arming exists only as a press on the panel, so without this person, or someone at the control channel, a
simulated rig never heats.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass, field

from ribwright_board.core.errors import WireError
from ribwright_board.core.wire import LineReader, Message, decode

HEATING_MODES = ("proving", "running", "paused")
Action = tuple[str, str | int]


@dataclass
class TellWatcher:
    """Picks the rows and events out of everything the board writes, as someone watching a screen would.

    mode is the last one seen, running whether a run is on.
    """

    mode: str = ""
    rows: int = 0
    _reader: LineReader = field(default_factory=LineReader)

    @property
    def running(self) -> bool:
        """Return whether a run is on."""
        return self.mode in HEATING_MODES

    def feed(self, data: bytes) -> list[Message]:
        """Return the messages that end in data; anything that is no message is passed over."""
        messages: list[Message] = []
        for line in self._reader.feed(data):
            if not line.startswith(b"tell "):
                continue
            try:
                message = decode(line)
            except WireError:
                # Text that only looks like one; the computer counts damaged lines, a person does not.
                continue
            if message.verb == "row":
                self.rows += 1
                self.mode = str(message.data.get("mode", ""))
            messages.append(message)
        return messages

    def forget(self) -> None:
        """Start anew after a reset of the board."""
        self.mode = ""
        self._reader = LineReader()


@dataclass
class Maker:
    """A scripted person, fully determined by the seed; all times are virtual seconds.

    zones: how many the rig has. start_after_s: from the wish for a start to the press. form_after_s and
    next_after_s: from a cue to pressing the strip on, and to the press of the next button. hesitation_s:
    largest extra delay. again_after_s: before the same button is pressed again. answer_after_s: from the
    question whether anybody is there to the press that answers it. alone_detents: once, at a rig that rests
    without a computer, the knob is turned so far and start pressed, None where a computer lays runs out.
    off_after_s: from a run that is done to the side coming off the form, None for a side that stays;
    open_s: from there to the next strip lying in the stack, and no start is pressed before that.
    """

    zones: int
    seed: int = 0
    start_after_s: float = 4.0
    form_after_s: float = 2.0
    next_after_s: float = 8.0
    hesitation_s: float = 1.0
    again_after_s: float = 15.0
    answer_after_s: float = 20.0
    alone_detents: float | None = None
    off_after_s: float | None = None
    open_s: float = 180.0

    def __post_init__(self) -> None:
        """Start with nothing planned."""
        self._random = random.Random(self.seed)  # noqa: S311 - a person's hesitation, not a secret
        self._plan: list[tuple[float, Action]] = []
        self._pressed_s: dict[str, float] = {}
        self._heated: list[int] = []
        self._chose = False
        self._laid_s = float("-inf")
        self.next_s = float("inf")

    @classmethod
    def from_mapping(cls, zones: int, settings: Mapping[str, object], seed: int) -> Maker:
        """Build from a scenario's maker table.

        zones, seed: as the class has them. settings: some of its other fields by name, all numbers from 0.
        Raises ValueError for an unknown key, or a value that is no number or below 0.
        """
        pauses = ("start_after_s", "form_after_s", "next_after_s", "again_after_s", "answer_after_s")
        allowed = (*pauses, "hesitation_s", "alone_detents", "off_after_s", "open_s")
        values: dict[str, float] = {}
        for key, value in settings.items():
            if key not in allowed:
                raise ValueError(f"maker.{key} is unknown; known are {', '.join(allowed)}")
            if isinstance(value, bool) or not isinstance(value, int | float) or not value >= 0:
                raise ValueError(f"maker.{key} is {value!r}, a number of seconds from 0 is needed")
            values[key] = float(value)
        return cls(zones, seed, **values)

    def change(self, settings: Mapping[str, object]) -> None:
        """Have other habits from now on; settings, and ValueError for wrong ones, as in from_mapping()."""
        fresh = Maker.from_mapping(self.zones, settings, self.seed)
        for key in settings:
            setattr(self, key, getattr(fresh, key))

    def changes_strips(self, now_s: float) -> bool:
        """Return whether a side is being taken off, or the next strip laid in."""
        return now_s < self._laid_s

    def see(self, message: Message, now_s: float) -> None:
        """Take one row or event the board told at now_s; any other message changes nothing."""
        data = message.data
        if message.verb == "row":
            self._heated = self._zones_with_target(data.get("zones"))
            waiting = data.get("waiting")
            if data.get("mode") == "idle" and self.alone_detents is not None and not self._chose:
                self._chose = True
                if self.alone_detents:
                    self._do(now_s + self.form_after_s, ("knob", int(self.alone_detents)))
                self._want("start", now_s, self.form_after_s + self.start_after_s)
                # Looked at before the second press, which heats.
                self._pressed_s.pop("start", None)
            if waiting == "start":
                self._want("start", now_s, max(0.0, self._laid_s - now_s) + self.start_after_s)
            elif waiting == "next":
                self._want("next", now_s, self.next_after_s)
            elif waiting == "presence":
                # Any button answers; one that goes on is the nearest at hand and then does only that.
                self._want("next", now_s, self.answer_after_s)
        elif message.verb == "event" and data.get("code") == "done" and self.off_after_s is not None:
            off_s = now_s + self.off_after_s
            self._laid_s = off_s + self.open_s
            self._do(off_s, ("strip", "out"))
            self._do(self._laid_s, ("strip", "in"))
        elif message.verb == "event" and data.get("code") == "cue":
            zone = data.get("zone")
            touched = self._heated or list(range(self.zones))
            if isinstance(zone, int) and 0 <= zone < self.zones:
                touched = [zone]
            for each in touched:
                self._do(now_s + self.form_after_s, ("form", each))
            self._pressed_s.pop("next", None)
            self._want("next", now_s, self.next_after_s)

    def act(self, now_s: float) -> list[Action]:
        """Return what is done by now_s in order, as RigLoop.do() takes it."""
        if now_s < self.next_s:
            return []
        self._plan.sort(key=lambda entry: entry[0])
        due = [action for at_s, action in self._plan if at_s <= now_s]
        self._plan = [entry for entry in self._plan if entry[0] > now_s]
        self.next_s = self._plan[0][0] if self._plan else float("inf")
        return due

    def _want(self, button: str, now_s: float, after_s: float) -> None:
        # A button pressed a moment ago, or about to be, is not pressed again before the board could react.
        if now_s < self._pressed_s.get(button, float("-inf")) + self.again_after_s:
            return
        at_s = now_s + after_s + self._random.random() * self.hesitation_s
        self._pressed_s[button] = at_s
        self._do(at_s, ("press", button))

    def _do(self, at_s: float, action: Action) -> None:
        self._plan.append((at_s, action))
        self.next_s = min(self.next_s, at_s)

    def _zones_with_target(self, zones: object) -> list[int]:
        if not isinstance(zones, list):
            return []
        return [
            n
            for n, zone in enumerate(zones[: self.zones])
            if isinstance(zone, list) and zone and zone[0] is not None
        ]
