"""Healthy runs: everything that ordinary use does to a reading, and not one trip may come of it.

Noise with a spike a minute, cold wet wood closed onto a hot blanket, foil opened, water sprayed, the strip
pressed and moved, draught, mains that drift, a hand on the slat, pauses, starts from cold and from hot.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from .core_rig import CoreRig
from .meter import SECOND_US
from .rigs import Setting

SHORT_S = 600.0
LONGEST_S = 9000.0
SPIKES_PER_S = 1.0 / 60.0
# Mean time between two things that somebody does.
DOINGS_S = 60.0
# Nobody puts cold wet wood in more often than this.
WET_US = 300 * SECOND_US
# From the end of a run to the next strip, and from there to the next start.
STRIP_US, LAID_US = 10 * SECOND_US, 30 * SECOND_US
# Who has had the foil open lets the stack settle for so long before a pause and the proof after it.
SHUT_US = 15 * SECOND_US
SPRAY_KG_M2 = (0.05, 0.3)
# Mains wander by so much a second, within 0.90 to 1.10.
DRIFT_PER_S = 0.002
MAINS = (0.90, 1.10)
# Things that happen to the stack happen in a run; what comes over the mains or through the door, at any time.
ALWAYS = ("draught", "hand")
IN_A_RUN = (*ALWAYS, *ALWAYS, "wet", "foil", "spray", "move", "press", "press", "pause")


@dataclass
class Bustle:
    """What goes on around a healthy rig; one of a rig's drivers. What it does is told as "around"."""

    seed: int
    _next_us: int = -1
    _second_us: int = 0
    _draught_us: int = 0
    _wet_us: int = 0
    _shut_us: int = 0

    def __post_init__(self) -> None:
        """Seed it."""
        self._random = Random(f"bustle {self.seed}")  # noqa: S311 - a shop's bustle, no secret

    def __call__(self, rig: CoreRig) -> None:
        """Before a tick: whatever is due."""
        draw = self._random
        if self._next_us < 0:
            for converter in rig.converters:
                converter.noise_k = draw.uniform(0.25, 0.5)
            self._plan(rig)
        if draw.random() < SPIKES_PER_S * 0.1 * rig.zones:
            rig.converters[draw.randrange(rig.zones)].spike_k = draw.uniform(5.0, 50.0) * draw.choice((-1, 1))
        if rig.now_us >= self._second_us:
            self._second_us = rig.now_us + SECOND_US
            moved = rig.plant.mains + DRIFT_PER_S * draw.gauss(0.0, 1.0)
            rig.plant.mains = min(max(moved, MAINS[0]), MAINS[1])
            if self._draught_us and rig.now_us >= self._draught_us:
                rig.plant.draught(1.0)
                self._draught_us = 0
        if rig.now_us >= self._next_us:
            self._plan(rig)
            self._do(rig)

    def _plan(self, rig: CoreRig) -> None:
        self._next_us = rig.now_us + int(self._random.expovariate(1.0 / DOINGS_S) * SECOND_US)

    def _do(self, rig: CoreRig) -> None:
        draw, plant = self._random, rig.plant
        what = draw.choice(IN_A_RUN if rig.controller.mode == "running" else ALWAYS)
        if what == "hand" and rig.controller.mode in ("ready", "proving"):
            # A start asks for hands off: a warm hand on a cold slat is heat nobody commanded.
            return
        zone = draw.randrange(rig.zones)
        if what == "draught":
            plant.draught(draw.uniform(1.2, 2.0))
            self._draught_us = rig.now_us + int(draw.uniform(10.0, 120.0) * SECOND_US)
        elif what == "hand":
            plant.hand(zone, draw.uniform(1.0, 10.0))
        elif what == "wet":
            if rig.now_us < self._wet_us:
                return
            self._wet_us = rig.now_us + WET_US
            plant.press(zone, cold_wet=True)
        elif what == "foil":
            open_s = draw.uniform(2.0, 20.0)
            plant.open_foil(zone, open_s)
            self._shut_us = rig.now_us + int(open_s * SECOND_US) + SHUT_US
        elif what == "spray":
            blanket = rig.rig.zones[zone]
            area_m2 = blanket.length_mm * blanket.width_mm * 1e-6
            plant.spray(zone, draw.uniform(*SPRAY_KG_M2) * area_m2)
        elif what == "move":
            plant.contact(zone, draw.uniform(0.3, 3.0))
        elif what == "press":
            (plant.press if draw.random() < 0.6 else plant.lift)(zone)
        elif rig.stage_kind != "cool":
            if rig.now_us < self._shut_us:
                return
            rig.controller.pause()
        rig.told.append((rig.now_us, "around", zone, 0, 0, what))


@dataclass(frozen=True, slots=True)
class Healthy:
    """What came of a healthy run.

    name: for the lists. seconds: simulated. codes: of every trip or refusal, none in a good one. suspicions:
    how often doubt limited the power. ended: the run reached its own end at least once.
    """

    name: str
    setting: Setting
    seconds: float
    codes: tuple[str, ...]
    suspicions: int
    ended: bool
    hottest_c: float
    cutoff_opened: bool
    unarmed_half_cycles: int
    over_us: int
    stages: tuple[str, ...] = ()


def healthy_run(
    rig: CoreRig, name: str, seed: int, seconds: float = 0.0, look: Callable[[CoreRig], None] | None = None
) -> Healthy:
    """Let a rig live among disturbances.

    Args:
        rig: from cold, or from a warm state.
        name: for the lists.
        seed: of the disturbances.
        seconds: for so long, with a new strip begun where one is done; 0, to the end of one run.
        look: called after every tick.
    """
    rig.drivers.append(Bustle(seed))
    rig.meter.clear()
    rig.told = []
    rig.hands.starts = rig.hands.present = True
    start_us = rig.now_us
    end_us = start_us + int((seconds or LONGEST_S) * SECOND_US)
    codes: list[str] = []
    seen, idle_us, ended = 0, 0, False
    stages: set[str] = set()
    while rig.now_us < end_us and not codes:
        rig.tick()
        if look is not None:
            look(rig)
        for _, event, _, _, _, text in rig.told[seen:]:
            if event in ("trip", "refused"):
                codes.append(text)
            ended = ended or event == "done"
        seen = len(rig.told)
        if seconds == 0.0 and ended:
            break
        mode = rig.controller.mode
        stages.add((rig.stage_kind or mode) if mode == "running" else mode)
        idle_us = idle_us + SECOND_US // 10 if rig.controller.mode == "idle" else 0
        if idle_us == STRIP_US:
            _new_strip(rig)
        elif idle_us >= STRIP_US + LAID_US:
            rig.lay_out()
    return Healthy(
        name=name,
        setting=rig.setting,
        seconds=(rig.now_us - start_us) / 1e6,
        codes=tuple(codes),
        suspicions=sum(1 for entry in rig.told if entry[1] == "suspect"),
        ended=ended,
        hottest_c=round(rig.meter.hottest_c, 2),
        cutoff_opened=any(cutoff.open for cutoff in rig.bench.cutoffs),
        unarmed_half_cycles=rig.meter.half_cycles(rig.meter.unarmed_us),
        over_us=rig.meter.over_us,
        stages=tuple(sorted(stages)),
    )


def _new_strip(rig: CoreRig) -> None:
    """The next side is put in, on a stack that may still be warm."""
    for zone in range(rig.zones):
        rig.plant.press(zone, cold_wet=True)
        rig.plant.lift(zone)


def whole_name(setting: Setting) -> str:
    """Name of a setting's whole run."""
    return f"whole/{setting.mains:g}/{'bare' if setting.bare else 'loaded'}/{setting.seed}"


def whole_run(setting: Setting, look: Callable[[CoreRig], None] | None = None) -> Healthy:
    """One run from the first press to the end; setting: the drawn rig. look: called after every tick."""
    rig = CoreRig(setting)
    for _ in range(30):
        rig.tick()
    rig.lay_out()
    return healthy_run(rig, whole_name(setting), setting.seed, look=look)


def short_run(
    state: bytes, setting: Setting, phase: str, turn: int, look: Callable[[CoreRig], None] | None = None
) -> Healthy:
    """Ten minutes from a warm state.

    Args:
        state: the warm state.
        setting: its rig.
        phase: it was taken in.
        turn: which of several from the same rig; draws the disturbances.
        look: called after every tick.
    """
    name = whole_name(setting).replace("whole", "short") + f"/{phase}/{turn}"
    return healthy_run(CoreRig.from_snapshot(state), name, setting.seed * 1000 + turn, SHORT_S, look)
