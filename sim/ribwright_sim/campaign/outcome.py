"""One injected fault and what came of it: what every part of the campaign hands to the next.

Plain values only, so that cases and outcomes go to other processes and into JSON as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, field

# Where a blanket's hottest part may never get, in the simulation [C]: silicone rubber, continuous.
BLANKET_LIMIT_C = 230.0


@dataclass(frozen=True, slots=True)
class Case:
    """One fault, at one moment, on one drawn rig.

    fault: its id in the fault list ("A1" to "D16"). variant: which form of it, free text of the list.
    phase: when it strikes, one of phases.PHASES.
    zone: whom it strikes, -1 for the rig. expected: codes that name it rightly; empty when it must not trip.
    seed: draws plant, noise and moment. mains: volts over rated volts. bare: nothing lies on the blanket.
    """

    fault: str
    phase: str
    expected: tuple[str, ...]
    variant: str = ""
    zone: int = 0
    seed: int = 0
    mains: float = 1.0
    bare: bool = False

    @property
    def name(self) -> str:
        """Return the case in one word for lists."""
        stack = "bare" if self.bare else "loaded"
        form = f"{self.fault}.{self.variant}" if self.variant else self.fault
        return f"{form}/{self.phase}/z{self.zone}/{stack}/{self.mains:g}/{self.seed}"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the rig did with one fault.

    named: code of the trip or refusal, name of the event where a reset was told, of the flash all words that
    were told with + between; None when there was nothing. how: "trip", "refused", "interrupted" or
    "watchdog", the event; "told" where the flash had words alone; else "". detect_s: from the first act to
    the decision, by its class's clock [s]. off_ms: from the decision to every relay's pin low [ms].
    contactor_ms: from the decision to the contactor open [ms]. hottest_c: hottest part of any blanket from
    the injection on [C]. cutoff_opened: whether an independent cut-off was needed.
    unarmed_half_cycles: mains half cycles in which a blanket carried current though nobody had armed the
    rig. board: lived through by the real interpreter on the virtual rig. note: anything to be said beside it.
    """

    case: Case
    named: str | None = None
    how: str = ""
    detect_s: float | None = None
    off_ms: float | None = None
    contactor_ms: float | None = None
    hottest_c: float = 0.0
    cutoff_opened: bool = False
    unarmed_half_cycles: int = 0
    board: bool = False
    note: str = ""
    figures: dict[str, float] = field(default_factory=dict)

    @property
    def detected(self) -> bool:
        """Return whether the fault led to a trip or a refusal."""
        return self.named is not None

    @property
    def wrong_cause(self) -> bool:
        """Return whether it was named, and with none of the codes that name it rightly."""
        return self.named is not None and self.named not in self.case.expected

    @property
    def over_limit(self) -> bool:
        """Return whether a blanket passed its limit."""
        return self.hottest_c > BLANKET_LIMIT_C
