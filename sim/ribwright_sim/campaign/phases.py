"""Warm states: one healthy run of a drawn rig, copied at seeded random moments of all it goes through."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from .core_rig import CoreRig
from .meter import SECOND_US
from .rigs import Setting

# In the order of a run. "rest" is a ramp down, "plateau" a ramp up while water boils off, "resuming" the
# short proof after a pause.
PHASES = (
    "idle",
    "ready",
    "proving.settle",
    "proving.weld",
    "proving.off",
    "proving.pulse",
    "ramp",
    "plateau",
    "hold",
    "rest",
    "set",
    "cool",
    "paused",
    "resuming",
)
PLATEAU_C = (85.0, 115.0)
SETTLE_US = 2 * SECOND_US
OFF_US = 5 * SECOND_US
# Longest healthy run, far over what any of them takes.
LONGEST_S = 5400
RESUMED_FROM = ("ramp", "plateau", "hold", "set")


@dataclass
class PhaseWatch:
    """Names the phase a rig is in; has to be asked after every tick."""

    phase: str = "idle"
    _mode: str = "idle"
    _proving_us: int = 0
    _resumes: bool = False
    _alive_us: int | None = None

    def see(self, rig: CoreRig) -> str:
        """The rig's phase now, one of PHASES, or "tripped"."""
        mode = rig.controller.mode
        if mode != self._mode:
            if mode == "proving":
                self._proving_us = rig.now_us
                self._resumes = self._mode == "paused"
                self._alive_us = None
            self._mode = mode
        self.phase = mode
        if mode == "proving":
            self.phase = "resuming" if self._resumes else "proving." + self._step(rig)
        elif mode == "running":
            self.phase = _stage(rig)
        return self.phase

    def _step(self, rig: CoreRig) -> str:
        if self._alive_us is None and rig.controller.alive_due():
            self._alive_us = rig.now_us
        if self._alive_us is None:
            return "settle" if rig.now_us - self._proving_us <= SETTLE_US else "weld"
        return "off" if rig.now_us - self._alive_us <= OFF_US else "pulse"


def _stage(rig: CoreRig) -> str:
    runner = rig.controller.runner
    stage = None if runner is None else runner.stage
    if stage is None or stage.kind != "ramp":
        return rig.stage_kind or "cool"
    now_c = [rig.plant.thermocouple_c(zone) for zone in stage.zones]
    if (stage.target_c or 0.0) < now_c[0] - 3.0:
        return "rest"
    return "plateau" if any(PLATEAU_C[0] <= c <= PLATEAU_C[1] for c in now_c) else "ramp"


@dataclass
class WarmStates:
    """Copies of one healthy run.

    setting: the drawn rig. by_phase: phase -> copies. trips: "trip" or "refused", and the code, of each; a
    healthy run must not have any. suspicions: how often doubt limited the power. seconds: simulated.
    half_cycles: in which current flowed though the rig was unarmed. hottest_c, over_us: as of a Meter.
    """

    setting: Setting
    by_phase: dict[str, list[bytes]] = field(default_factory=dict)
    trips: list[tuple[str, str]] = field(default_factory=list)
    suspicions: int = 0
    seconds: float = 0.0
    half_cycles: int = 0
    hottest_c: float = 0.0
    over_us: int = 0


class _Sampler:
    """Keeps a few copies of each phase, every moment of it equally likely."""

    def __init__(self, setting: Setting, keep: int) -> None:
        self.random = random.Random(f"moments {setting.seed}")  # noqa: S311 - moments, no secret
        self.keep = keep
        self.found: dict[str, list[bytes]] = {}
        self.counts: dict[str, int] = {}

    def see(self, phase: str, rig: CoreRig) -> None:
        count = self.counts[phase] = self.counts.get(phase, 0) + 1
        copies = self.found.setdefault(phase, [])
        if len(copies) < self.keep:
            copies.append(rig.snapshot())
        elif self.random.random() * count < self.keep:
            copies[self.random.randrange(self.keep)] = rig.snapshot()


def run_for(rig: CoreRig, seconds: float) -> None:
    """Let a rig run for so many seconds, to the end of the tick that holds the last of them."""
    end_us = rig.now_us + int(seconds * SECOND_US)
    while rig.now_us < end_us:
        rig.tick()


def warm_states(setting: Setting, keep: int = 3) -> WarmStates:
    """Play a healthy run from cold to cold, a second start on the hot stack, and pauses.

    Args:
        setting: the drawn rig.
        keep: copies to keep of each phase.
    """
    rig = CoreRig(setting)
    sampler = _Sampler(setting, keep)
    warm = WarmStates(setting, sampler.found)
    watch = PhaseWatch()
    _follow(rig, watch, sampler, 8.0)
    for turn in range(2):
        rig.hands.starts = False
        if rig.controller.mode == "idle":
            rig.lay_out()
        _follow(rig, watch, sampler, 6.0)
        rig.hands.starts = True
        # The second start is played until its proof is over.
        _follow(rig, watch, sampler, LONGEST_S if turn == 0 else 60.0, until=("idle", "tripped"))
        if rig.controller.mode != "idle" or turn == 1:
            break
        _follow(rig, watch, sampler, 12.0)
    _close(warm, rig)
    for place, phase in enumerate(RESUMED_FROM):
        for copy in sampler.found.get(phase, [])[:1]:
            _pause(warm, CoreRig.from_snapshot(copy), sampler, place)
    return warm


def _follow(
    rig: CoreRig, watch: PhaseWatch, sampler: _Sampler, seconds: float, until: tuple[str, ...] = ()
) -> None:
    """Run on, looking at the rig once a second and in every second tick of a proof."""
    end_us = rig.now_us + int(seconds * SECOND_US)
    ticks = 0
    begun = False
    while rig.now_us < end_us:
        rig.tick()
        ticks += 1
        phase = watch.see(rig)
        begun = begun or phase not in ("idle", "ready")
        if begun and phase in until:
            return
        if ticks % (2 if rig.controller.mode == "proving" else 10) == 0 and phase in PHASES:
            sampler.see(phase, rig)


def _pause(warm: WarmStates, rig: CoreRig, sampler: _Sampler, place: int) -> None:
    watch = PhaseWatch()
    watch.see(rig)
    rig.told = []
    rig.meter.clear()
    rig.hands.starts = False
    rig.controller.pause()
    _follow(rig, watch, sampler, 3.0 + 25.0 * place * sampler.random.random())
    rig.hands.starts = True
    _follow(rig, watch, sampler, 30.0)
    _close(warm, rig)


def _close(warm: WarmStates, rig: CoreRig) -> None:
    warm.seconds += rig.now_us / 1e6
    warm.suspicions += sum(1 for entry in rig.told if entry[1] == "suspect")
    warm.trips += [(name, text) for _, name, _, _, _, text in rig.told if name in ("trip", "refused")]
    warm.half_cycles += rig.meter.half_cycles(rig.meter.unarmed_us)
    warm.hottest_c = max(warm.hottest_c, rig.meter.hottest_c)
    warm.over_us += rig.meter.over_us
