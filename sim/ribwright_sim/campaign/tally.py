"""What all pieces of a campaign come to: figures, and the tables behind them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from .faults import FAULTS, HARDWARE_ONLY, KINDS, Fault
from .healthy import Healthy, whole_name
from .outcome import BLANKET_LIMIT_C, Outcome
from .phases import WarmStates
from .play import fault_of
from .resets import Reset
from .work import Result

WORST_KEPT = 5


@dataclass
class Tally:
    """Everything that came back."""

    outcomes: list[Outcome] = field(default_factory=list)
    healthy: list[Healthy] = field(default_factory=list)
    resets: list[Reset] = field(default_factory=list)
    warm: list[WarmStates] = field(default_factory=list)
    unreached: list[str] = field(default_factory=list)
    over_us: int = 0

    def take(self, result: Result) -> None:
        """Add the result of a piece of work."""
        self.outcomes += result.outcomes
        self.healthy += result.healthy
        self.resets += result.resets
        self.unreached += result.unreached
        self.warm += result.warm
        self.over_us += sum(warm.over_us for warm in result.warm)
        self.over_us += sum(run.over_us for run in result.healthy)
        self.over_us += sum(int(outcome.figures.get("over_us", 0.0)) for outcome in result.outcomes)

    # What failed ------------------------------------------------------------------------------

    def over_limit(self) -> list[Outcome]:
        """A blanket passed its limit."""
        return [outcome for outcome in self.outcomes if outcome.over_limit]

    def undetected(self) -> list[Outcome]:
        """Neither a trip nor a refusal, of a fault the firmware has to name."""
        return [o for o in self.outcomes if not o.detected and fault_of(o.case).contained]

    def wrong_cause(self) -> list[Outcome]:
        """Named by something that leads the maker astray, where a right name is known."""
        return [o for o in self.outcomes if o.wrong_cause and fault_of(o.case).contained]

    def cutoff_needed(self) -> list[Outcome]:
        """The independent cut-off opened, though the firmware has to contain the fault."""
        return [o for o in self.outcomes if o.cutoff_opened and fault_of(o.case).contained]

    def wrong_zone(self) -> list[Outcome]:
        """Rightly named, of another zone: one blanket lies over the other's thermocouple."""
        return [
            o
            for o in self.outcomes
            if o.detected and not o.wrong_cause and o.case.zone not in (-1, o.figures.get("zone_named", -1.0))
        ]

    def nuisances(self) -> list[str]:
        """Healthy runs that ended in a trip or a refusal, and resets of a healthy rig followed by one."""
        runs = [f"{run.name}: {', '.join(run.codes)}" for run in self.healthy if run.codes]
        resets = [f"{reset.name}: {reset.code}" for reset in self.resets if reset.code]
        warm = [
            f"{whole_name(warm.setting).replace('whole', 'warm')}: {code}"
            for warm in self.warm
            for _, code in warm.trips
        ]
        return runs + warm + resets

    # What is written --------------------------------------------------------------------------

    def figures(self) -> dict[str, object]:
        """Plain figures of the core's part."""
        named = [o for o in self.outcomes if o.how in ("trip", "refused")]
        contained = [o for o in self.outcomes if fault_of(o.case).contained]
        figures: dict[str, object] = {
            "faults_injected": len(self.outcomes),
            "fault_forms": len(FAULTS),
            "over_limit": len(self.over_limit()),
            "undetected": len(self.undetected()),
            "wrong_cause": len(self.wrong_cause()),
            "wrong_zone": len(self.wrong_zone()),
            "cutoff_needed": round(len(self.cutoff_needed()) / max(1, len(contained)), 5),
            "worst_off_ms": largest(o.off_ms for o in named),
            "worst_contactor_ms": largest(o.contactor_ms for o in named),
        }
        for kind in KINDS:
            own = [o for o in self.outcomes if fault_of(o.case).kind == kind and o.detected]
            if own and kind != "hardware":
                figures[f"worst_detect_s_{kind}"] = largest(o.detect_s for o in own)
                figures[f"worst_from_injection_s_{kind}"] = largest(
                    o.figures.get("from_injection_s") for o in own
                )
        figures |= {
            "healthy_runs": len(self.healthy) + len(self.warm),
            "whole_healthy_runs": sum(run.name.startswith("whole") for run in self.healthy) + len(self.warm),
            "nuisance_trips": len(self.nuisances()),
            "suspicions": sum(run.suspicions for run in self.healthy),
            "healthy_over_limit": sum(run.hottest_c > BLANKET_LIMIT_C for run in self.healthy),
            "resets": len(self.resets),
            "unarmed_energised_half_cycles": sum(reset.half_cycles for reset in self.resets)
            + sum(run.unarmed_half_cycles for run in self.healthy)
            + sum(warm.half_cycles for warm in self.warm)
            + sum(outcome.unarmed_half_cycles for outcome in self.outcomes),
            "over_branch_limit_ms": self.over_us / 1000.0,
            "stuck_not_open": sum(o.contactor_ms is None for o in named if o.case.fault == "A4"),
            "clocks_played": len({warm.setting.clock for warm in self.warm}),
            "phases_not_reached": len(self.unreached),
        }
        return figures

    def notes(self) -> dict[str, object]:
        """The tables: per fault, what failed, what only hardware contains."""
        return {
            "faults": {key: self._row(fault) for key, fault in FAULTS.items()},
            "detection": {
                kind: {"goal_s": each.goal_s, "its_clock": each.clock, "clock_s": each.clock_s}
                for kind, each in KINDS.items()
            },
            "hardware_only": {
                **HARDWARE_ONLY,
                **{key: f"{fault.what}: {fault.why}" for key, fault in FAULTS.items() if not fault.contained},
            },
            "over_limit": [entry(o) for o in self.over_limit()],
            "undetected": [entry(o) for o in self.undetected()],
            "wrong_cause": [entry(o) for o in self.wrong_cause()],
            "wrong_zone": [entry(o) for o in self.wrong_zone()],
            "cutoff_needed": [entry(o) for o in self.cutoff_needed()],
            "nuisance_trips": self.nuisances(),
            "healthy_over_limit": [run.name for run in self.healthy if run.hottest_c > BLANKET_LIMIT_C],
            "healthy_stages": sorted({stage for run in self.healthy for stage in run.stages}),
            "phases_not_reached": self.unreached,
            "resets_without_heat_after_the_press": [r.name for r in self.resets if not r.pressed_flows],
            "reset_modes": dict(Counter(reset.mode for reset in self.resets)),
        }

    def _row(self, fault: Fault) -> dict[str, object]:
        own = [o for o in self.outcomes if fault_of(o.case) is fault]
        seen = sorted((o for o in own if o.detect_s is not None), key=lambda o: -(o.detect_s or 0.0))
        return {
            "what": fault.what,
            "contained": fault.contained,
            "injected": len(own),
            "named": dict(Counter(str(o.named) for o in own)),
            "at_the_next_start": sum(o.figures.get("next_start", 0.0) > 0.0 for o in own),
            "never_acted": sum(o.figures.get("acted", 1.0) == 0.0 for o in own),
            "over_limit": sum(o.over_limit for o in own),
            "cutoff_opened": sum(o.cutoff_opened for o in own),
            "hottest_c": max((o.hottest_c for o in own), default=None),
            "median_detect_s": seen[len(seen) // 2].detect_s if seen else None,
            "worst": [entry(o) for o in seen[:WORST_KEPT]],
        }


def largest(values: Iterable[object]) -> float | None:
    """The largest number among values, to one decimal; what is no number does not count. None without any."""
    return max((round(float(value), 1) for value in values if isinstance(value, int | float)), default=None)


def entry(outcome: Outcome) -> dict[str, object]:
    """One outcome, with all it takes to play it again: its name."""
    return {
        "case": outcome.case.name,
        "named": outcome.named,
        "right": list(outcome.case.expected),
        "how": outcome.how,
        "detect_s": outcome.detect_s,
        "hottest_c": outcome.hottest_c,
        **outcome.figures,
    }
