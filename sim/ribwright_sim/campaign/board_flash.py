"""One fault of the flash, played on a board: struck, told, and protection asked whether it hangs on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from typing import cast

from . import strikes
from .board_cable import AskRefusedError
from .board_rig import BoardRig
from .core_rig import CoreRig
from .fault import KINDS, Fault
from .meter import SECOND_US
from .outcome import Case, Outcome
from .play import AFTER_S

# Told of what becomes of a run, beside trips and refusals.
WORDS = ("log_lost", "stop", "done", "interrupted", "watchdog")
PROOF_S = 60.0
# The log is written every 30 s, and it is told within the next second.
LOG_S = 35.0
BOOT_S = 5.0
TRIP_S = 10.0
SEEN_S = 1.5
# What a start or an end writes, log, mark and counters, is half a dozen erases of 45 ms by the cost table;
# the alive detector gives a loop 600 ms.
LATE_MS = 300.0
FAILS = ("full", "worn", "torn")
UNDER_WAY = ("proving", "running", "paused")


@dataclass
class FlashPlay:
    """One case under way; `told` is what was said, each word once, in its order."""

    case: Case
    rig: BoardRig
    fault: Fault
    told: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Clear the rig's books."""
        self.rig.meter.clear()
        self._seen = 0
        self._draw = Random(f"strike {self.case.name}")  # noqa: S311 - a drawn fault, no secret
        self._how, _, self._then = self.fault.form.partition(".")
        self._falls = self.rig.falls
        self._given = self.rig.run
        self._second_us: int | None = None
        self._figures: dict[str, float] = {}

    def run(self) -> Outcome:
        """Strike, let the second thing happen, and say what was told of both."""
        rig = self.rig
        for _ in range(self._draw.randrange(10)):
            rig.tick()
        rig.told, rig.late_ms = [], 0
        self.fault.strike(cast("CoreRig", rig), max(self.case.zone, 0), self._draw)
        if self._then == "weld":
            strikes.relay("on")(cast("CoreRig", rig), self.case.zone, self._draw)
        {"stop": self._stop, "reset": self._reset, "weld": self._start}.get(self._then, self._open)()
        self._pass(SEEN_S)
        if rig.falls - self._falls != (self._then == "reset"):
            self.told.append("fell")
        self._cool()
        return self._outcome()

    # What happens -----------------------------------------------------------------------------

    def _open(self) -> None:
        """A run is tried where none is under way; its log is lost before the wire opens, or with the trip."""
        rig = self.rig
        self._start()
        if self._how in FAILS and self._draw.random() < 0.5:
            self._wait(LOG_S, "log_lost")
        self._pass(self._draw.uniform(0.5, 6.0))
        self._second_us = rig.now_us
        # A refusal that was measured before is not the trip that is asked for now.
        rig.meter.decided_us = rig.meter.off_us = rig.meter.open_us = None
        strikes.chip("open")(cast("CoreRig", rig), self.case.zone, self._draw)
        self._wait(TRIP_S, "open")

    def _stop(self) -> None:
        """The run goes on until its maker ends it, and then the next is laid out."""
        rig = self.rig
        if self._how in FAILS and self._draw.random() < 0.5:
            self._wait(LOG_S, "log_lost")
        self._pass(self._draw.uniform(0.5, 6.0))
        if rig.controller.mode not in UNDER_WAY:
            self.told.append("ended")
        rig.hands.do(rig.now_us, "stop")
        self._wait(TRIP_S, "stop")
        self._pass(SEEN_S)
        self._lay_out()
        if self._how == "rig":
            self._start()

    def _reset(self) -> None:
        """The board comes up off, knows what was cut off as far as it can, and gives no number twice."""
        rig = self.rig
        if self._how in FAILS:
            self._wait(LOG_S, "log_lost")
        self._pass(self._draw.uniform(0.5, 6.0))
        if rig.controller.mode not in UNDER_WAY:
            self.told.append("ended")
        told = len(self.told)
        rig.reset()
        self._pass(BOOT_S)
        if rig.flowed_since_us or rig.controller.mode not in ("idle", "tripped"):
            self.told.append("heats")
        elif len(self.told) == told:
            self.told.append("off")
        self._lay_out()

    # Its parts --------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        """Lay the next run out where the board takes one; what it refuses is told."""
        rig = self.rig
        if rig.controller.mode != "idle":
            return
        try:
            rig.lay_out()
        except AskRefusedError as error:
            self.told.append(error.code)
            return
        if rig.run <= self._given:
            self.told.append("number_given_twice")

    def _start(self) -> None:
        """Bring a run under way where none is: laid out, started and proved, or refused."""
        rig = self.rig
        self._lay_out()
        if rig.controller.mode == "ready":
            rig.hands.do(rig.now_us, "start")
            self._pass(SEEN_S)
        end_us = rig.now_us + int(PROOF_S * SECOND_US)
        while rig.controller.mode == "proving" and rig.now_us < end_us:
            self._tick()

    def _tick(self) -> None:
        rig = self.rig
        rig.tick()
        for at_us, name, _, _, _, text in rig.told[self._seen :]:
            word = text if name in ("trip", "refused") else name if name in WORDS else ""
            if word and word not in self.told:
                self.told.append(word)
                if self._second_us is not None and name == "trip":
                    self._figures["detect_s"] = (at_us - self._second_us) / 1e6
        self._seen = len(rig.told)

    def _wait(self, seconds: float, word: str) -> None:
        end_us = self.rig.now_us + int(seconds * SECOND_US)
        while word not in self.told and self.rig.now_us < end_us:
            self._tick()

    def _pass(self, seconds: float) -> None:
        end_us = self.rig.now_us + int(seconds * SECOND_US)
        while self.rig.now_us < end_us:
            self._tick()

    def _cool(self) -> None:
        """The stack alone, to its hottest moment."""
        rig = self.rig
        share = rig.bench.powered()
        for _ in range(int(AFTER_S)):
            rig.plant.advance(1.0, share)
        rig.look()

    def _outcome(self) -> Outcome:
        meter, detect_s = self.rig.meter, self._figures.pop("detect_s", None)
        if self.rig.late_ms > LATE_MS or (detect_s or 0.0) > KINDS["flash"].clock_s:
            self.told.append("late")
        decided = meter.decided_us is not None
        return Outcome(
            self.case,
            named="+".join(self.told) or None,
            how="trip" if decided else "told" if self.told else "",
            detect_s=detect_s,
            off_ms=meter.off_ms,
            contactor_ms=meter.contactor_ms,
            hottest_c=round(meter.hottest_c, 2),
            cutoff_opened=any(cutoff.open for cutoff in self.rig.bench.cutoffs),
            unarmed_half_cycles=meter.half_cycles(meter.unarmed_us),
            figures={
                "over_us": float(meter.over_us),
                "late_ms": float(self.rig.late_ms),
                "unarmed_strict": float(meter.half_cycles(meter.strict_us)),
            },
        )
