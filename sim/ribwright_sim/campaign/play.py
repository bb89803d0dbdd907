"""One fault, played: struck into a warm state, watched to the verdict and half a minute on.

A fault that shows nothing in its phase is followed to the next start, whose proof has to refuse it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from .core_rig import CoreRig, Told
from .faults import FAULTS, KINDS, Fault
from .meter import SECOND_US
from .outcome import BLANKET_LIMIT_C, Case, Outcome

AFTER_S = 30.0
# Latent where nothing heats: how long until the maker starts the next run.
IDLE_S = (2.0, 20.0)
# A start that is not refused is watched this long in its run: a switch that stays half on shows in the hold.
STARTED_S = {"uncontrolled": 900.0, "not_heating": 900.0}
STARTED_LEAST_S = 90.0
# What the firmware need not name is watched no longer: hardware has done its part by then.
UNNAMED_PATIENCE_S, UNNAMED_STARTED_S = 60.0, 30.0
LONGEST_S = 900.0
LONGEST_LONG_S = 9000.0
QUIET_PHASES = ("idle", "ready", "cool", "paused")


@dataclass
class Play:
    """One case under way.

    every_s: seconds between two lines of figures, 0 for no trace. trace: these lines, and one an event.
    """

    case: Case
    rig: CoreRig
    fault: Fault
    every_s: float = 0.0
    trace: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Clear the rig's books."""
        self.rig.meter.clear()
        self.rig.told = []
        self._struck_us = self.rig.now_us
        self._acted_us: int | None = None
        self._counted_us = 0
        self._flowed_s = list(self.rig.flowed_s)
        self._draw = Random(f"strike {self.case.name}")  # noqa: S311 - a drawn fault, no secret
        self._seen = 0
        self._next_us = 0
        self._started = False
        self._pressed_us: int | None = None
        self.verdict: Told | None = None

    def run(self) -> Outcome:
        """Strike, wait, start again if need be, and say what came of it."""
        rig = self.rig
        # Somewhere between two ticks' edges: the strike itself falls on a tick, its moment is drawn.
        for _ in range(self._draw.randrange(10)):
            rig.tick()
        rig.told = []
        self._struck_us = rig.now_us
        self._flowed_s = list(rig.flowed_s)
        self.fault.strike(rig, max(self.case.zone, 0), self._draw)
        phase_s = self._draw.uniform(*IDLE_S) if self.case.phase in QUIET_PHASES else 0.0
        self._wait(phase_s)
        if self.verdict is None:
            self._start_again()
        if self.verdict is not None:
            self._follow(AFTER_S)
        return self._outcome()

    def _tick(self) -> bool:
        """One tick; says whether the verdict has come."""
        rig = self.rig
        before_us = rig.now_us
        rig.tick()
        counts = KINDS[self.fault.kind].counts
        if counts and self._acted_us is not None and self.verdict is None:
            self._counted_us += (rig.now_us - before_us) * counts(rig, self.case.zone, self._flowed_s)
        if self._acted_us is None and self.fault.acts(rig, max(self.case.zone, 0), self._flowed_s):
            self._acted_us = rig.now_us
        while self._seen < len(rig.told):
            entry = rig.told[self._seen]
            self._seen += 1
            _, name, _, _, _, text = entry
            if name == "proving" and self.verdict is None:
                self._pressed_us = entry[0]
            if self.every_s:
                self.trace.append(line(rig, self._struck_us, " ".join(map(str, entry[1:]))))
            if self.verdict is None and (
                name in ("trip", "refused")
                or (name in ("interrupted", "watchdog") and name in self.fault.accept)
            ):
                self.verdict = entry if text else (*entry[:5], name)
                if self._acted_us is None:
                    self._acted_us = entry[0]
        if self.every_s and rig.now_us >= self._next_us:
            self._next_us = rig.now_us + int(self.every_s * SECOND_US)
            self.trace.append(line(rig, self._struck_us))
        return self.verdict is not None

    def _wait(self, quiet_s: float) -> None:
        """Until the verdict, or until nothing more can be expected in this phase."""
        patience_s = KINDS[self.fault.kind].patience_s
        if not self.fault.contained:
            patience_s = min(patience_s, UNNAMED_PATIENCE_S)
        patience_us = int(patience_s * SECOND_US)
        rig = self.rig
        longest_s = LONGEST_LONG_S if self.fault.long else LONGEST_S
        end_us = self._struck_us + int(longest_s * SECOND_US)
        while rig.now_us < end_us and not self._tick():
            since_us = self._struck_us if self._acted_us is None else self._acted_us
            mode = "" if self.fault.kind == "reset" else rig.controller.mode
            if self._acted_us is None and mode in ("idle", "ready", "paused") and quiet_s:
                if rig.now_us - since_us > int(quiet_s * SECOND_US):
                    return
            elif mode == "idle" and rig.now_us - since_us > int((quiet_s or 5.0) * SECOND_US):
                if self._started or self.case.phase != "idle" or rig.now_us - since_us > patience_us:
                    return
            elif rig.now_us - since_us > patience_us:
                return

    def _start_again(self) -> None:
        """Stop, lay out again, press start; the proof, and what follows, must name it."""
        rig = self.rig
        self._started = True
        rig.hands.plan = []
        rig.hands.starts = True
        if rig.controller.mode not in ("idle", "ready"):
            rig.hands.do(rig.now_us, "stop")
            if self._run(2.0):
                return
        if rig.controller.mode in ("idle", "ready"):
            rig.lay_out()
            end_us = rig.now_us + 60 * SECOND_US
            while rig.now_us < end_us and not self._tick():
                if rig.controller.mode == "running":
                    break
            contained = self.fault.contained
            self._run(STARTED_S.get(self.fault.kind, STARTED_LEAST_S) if contained else UNNAMED_STARTED_S)

    def _run(self, seconds: float) -> bool:
        end_us = self.rig.now_us + int(seconds * SECOND_US)
        while self.verdict is None and self.rig.now_us < end_us:
            self._tick()
            if self._started and self.rig.controller.mode == "idle":
                break
        return self.verdict is not None

    def _follow(self, seconds: float) -> None:
        """What happens after the verdict: nobody presses anything."""
        rig = self.rig
        rig.hands.starts = rig.hands.present = False
        rig.hands.plan = []
        end_us = rig.now_us + int(seconds * SECOND_US)
        while rig.now_us < end_us:
            self._tick()

    def _outcome(self) -> Outcome:
        rig, meter, verdict = self.rig, self.rig.meter, self.verdict
        acted_us = self._struck_us if self._acted_us is None else self._acted_us
        if KINDS[self.fault.kind].from_start and self._pressed_us is not None:
            acted_us = max(acted_us, self._pressed_us)
        figures = {
            "unarmed_strict": float(meter.half_cycles(meter.strict_us)),
            "over_us": float(meter.over_us),
        }
        if verdict is not None:
            figures["from_injection_s"] = (verdict[0] - self._struck_us) / 1e6
            figures["zone_named"] = float(verdict[2])
            figures["next_start"] = float(self._started)
        figures["acted"] = float(self._acted_us is not None)
        detect_s = None if verdict is None else max(0.0, (verdict[0] - acted_us) / 1e6)
        if detect_s is not None and KINDS[self.fault.kind].counts:
            figures["from_acting_s"] = detect_s
            detect_s = self._counted_us / 1e6
        return Outcome(
            case=self.case,
            named=None if verdict is None else verdict[5],
            how="" if verdict is None else verdict[1],
            detect_s=detect_s,
            off_ms=meter.off_ms,
            contactor_ms=meter.contactor_ms,
            hottest_c=round(meter.hottest_c, 2),
            cutoff_opened=any(cutoff.open for cutoff in rig.bench.cutoffs),
            unarmed_half_cycles=meter.half_cycles(meter.unarmed_us),
            figures=figures,
        )


def line(rig: CoreRig, since_us: int, event: str = "") -> str:
    """A moment of a rig in one line: time since since_us, mode and stage; then the words of an event where
    there is one, else per zone what is read, true, hottest and flowing.
    """
    head = f"{(rig.now_us - since_us) / 1e6:8.1f} s {rig.controller.mode:8s}{rig.stage_kind:5s}"
    if event:
        return f"{head} -- {event}"
    zones = []
    targets_c = rig.controller.runner.targets_c if rig.controller.runner else [None] * rig.zones
    for zone in range(rig.zones):
        target_c = targets_c[zone]
        zones.append(
            f"target {'-' if target_c is None else format(target_c, '.0f'):>4s}"
            f" read {rig.shown_c[zone]:>7s} true {rig.plant.thermocouple_c(zone):6.1f}"
            f" hottest {rig.plant.hottest_blanket_c(zone):6.1f}"
            f" pin {int(rig.wanted[zone])} power {rig.bench.powered()[zone]:.1f}"
        )
    over = "  OVER" if rig.meter.hottest_c > BLANKET_LIMIT_C else ""
    return f"{head} | {' | '.join(zones)} | contactor {int(rig.bench.contactor)}{over}"


def fault_of(case: Case) -> Fault:
    """The fault list's entry of a case."""
    return FAULTS[f"{case.fault}.{case.variant}" if case.variant else case.fault]
