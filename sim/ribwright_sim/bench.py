"""What hangs on the board's pins: alive detector, master contactor, relays, cut-offs. Power flows only
through all of them.

Alive detector (project design): one edge per completed tick, gaps of 60 to 600 ms are accepted, it drops 720
ms after the last accepted edge; the contactor follows within 100 ms. Times are integer microseconds of the
simulation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from .cutoff import CutOff

GAP_LEAST_US = 60_000
GAP_MOST_US = 600_000
DROP_US = 720_000
EDGES_TO_START = 3
CONTACTOR_US = 100_000

# Share of full power through a relay that is stuck, by whether it is commanded on: half is one thyristor
# shorted, which passes every second half cycle by itself.
STUCK = {"on": (1.0, 1.0), "off": (0.0, 0.0), "half": (0.5, 1.0), None: (0.0, 1.0)}


# Of a zone without a relay.
NO_PIN = -1


@dataclass
class AliveDetector:
    """Window detector of the alternating alive signal; a pin that sticks or races counts as dead."""

    on: bool = False
    _last_edge_us: int | None = None
    _last_good_us: int = 0
    _good_edges: int = 0

    def edge(self, now_us: int) -> None:
        """Take one edge of the alive pin at now_us."""
        gap_us = None if self._last_edge_us is None else now_us - self._last_edge_us
        self._last_edge_us = now_us
        if gap_us is None or not GAP_LEAST_US <= gap_us <= GAP_MOST_US:
            self._good_edges = 0
            return
        self._good_edges += 1
        # Also while it holds: the good gaps between bursts of a racing pin are no sign of life.
        if self._good_edges >= EDGES_TO_START:
            self.on = True
            self._last_good_us = now_us

    @property
    def drop_us(self) -> int | None:
        """Return when the detector lets go if no further good edge comes; None while it is off."""
        return self._last_good_us + DROP_US if self.on else None

    def drop(self) -> None:
        """Let go, as the time has come."""
        self.on = False
        self._good_edges = 0


@dataclass
class Bench:
    """Relays behind a contactor behind the alive detector, and what can go wrong with each.

    relay_pins: pin of each zone's relay, in order of the zones, NO_PIN for one without; alive_pin: the pin
    the detector listens to.

    Faults, to be set at will; after setting one, `settle` makes it count from that moment on:
    stuck: per zone a relay that is welded ("on"), dead ("off") or half shorted ("half"); None follows the
    pin. inverted: per zone, the driver turns the pin's level over. pin_stuck: pin -> the level the hardware
    sees there whatever the board sets. contactor_stuck: "closed", "open" or None. estop: the button is
    pressed, the coil's loop is open. crossed: relay of zone z switches blanket crossed[z]; None, its own.
    race_us: the alive line toggles by itself, once in so many us; 0, it does not. cutoffs: one per blanket;
    nothing here closes an open one. unplugged: blankets off their terminals; a lamp there, or nothing.
    beside: blankets that another controller heats now, past contactor and relays.

    commanded_us: per relay the last moment at which the board had its pin high.
    """

    relay_pins: Sequence[int]
    alive_pin: int
    detector: AliveDetector = field(default_factory=AliveDetector)

    def __post_init__(self) -> None:
        """Start with everything off and whole."""
        zones = len(self.relay_pins)
        self.stuck: list[str | None] = [None] * zones
        self.inverted = [False] * zones
        self.pin_stuck: dict[int, int] = {}
        self.contactor_stuck: str | None = None
        self.estop = False
        self.crossed: tuple[int, ...] | None = None
        self.race_us = 0
        self._raced_us = 0
        self.cutoffs = [CutOff() for _ in self.relay_pins]
        self.unplugged: set[int] = set()
        self.beside = [False] * zones
        self._nothing = (0.0,) * zones
        self._set = dict.fromkeys((*self.relay_pins, self.alive_pin), 0)
        self._alive_level = 0
        self._coil = False
        self._pulled = False
        self._contactor_due_us: int | None = None
        self.commanded_us = [0] * zones

    @property
    def levels(self) -> list[bool]:
        """Return the level of each relay's control input, as the hardware sees it."""
        held, put, turned = self.pin_stuck, self._set, self.inverted
        return [
            bool(held[pin]) if pin in held else put[pin] != turned[zone]
            for zone, pin in enumerate(self.relay_pins)
        ]

    @property
    def commanded(self) -> list[bool]:
        """Return the level the board gives each relay, whatever becomes of it behind the pin."""
        return [bool(self._set[pin]) for pin in self.relay_pins]

    @property
    def alive(self) -> int:
        """Return the level the board gives the alive line."""
        return self._set[self.alive_pin]

    @property
    def contactor(self) -> bool:
        """Return whether the contactor's contacts are closed."""
        return self._pulled if self.contactor_stuck is None else self.contactor_stuck == "closed"

    def feedback(self) -> bool:
        """Return whether the load side of the contactor has voltage."""
        return self.contactor

    def set_pin(self, pin: int, level: int, now_us: int) -> None:
        """Take an output level of the board at now_us; pins that lead nowhere here are passed over.

        pin: the board's number of it. level: 0 or 1.
        """
        if pin in self._set:
            self._note_heat(now_us)
            self._set[pin] = level
            self._follow(now_us)

    def release(self, now_us: int) -> None:
        """Let every pin float as in a reset: pull-downs make it low, and the alive line falls."""
        self._note_heat(now_us)
        self._set = dict.fromkeys(self._set, 0)
        self._follow(now_us)

    def _note_heat(self, now_us: int) -> None:
        for zone, pin in enumerate(self.relay_pins):
            if self._set[pin]:
                self.commanded_us[zone] = now_us

    def lose_supply(self, now_us: int) -> None:
        """Take the supply away from board, detector and coil: all pins float and the coil lets go."""
        self.release(now_us)
        self.detector.drop()
        self._follow(now_us)

    def next_us(self) -> int | None:
        """Return when something changes by itself next, or None."""
        soonest_us = self.detector.drop_us
        for due_us in (self._contactor_due_us, self._raced_us + self.race_us if self.race_us else None):
            if due_us is not None and (soonest_us is None or due_us < soonest_us):
                soonest_us = due_us
        return soonest_us

    def settle(self, now_us: int) -> None:
        """Carry out what is due by now_us, and take over what was set by hand since."""
        drop_us = self.detector.drop_us
        if drop_us is not None and now_us >= drop_us:
            self.detector.drop()
        if self.race_us and now_us - self._raced_us >= self.race_us:
            self._raced_us = now_us
            self.pin_stuck[self.alive_pin] = 1 - self._alive_level
        self._follow(now_us)
        if self._contactor_due_us is not None and now_us >= self._contactor_due_us:
            self._pulled = self._coil
            self._contactor_due_us = None

    def feed(self, zone: int, blanket_c: float, dt_s: float) -> bool:
        """Let the cut-off of a blanket, whose place is at blanket_c [C] now, follow it over the last dt_s
        [s]; return whether it is open. zone: position of the blanket's zone.
        """
        return self.cutoffs[zone].feed(blanket_c, dt_s)

    def powered(self) -> tuple[float, ...]:
        """Return the share of its power that flows in each blanket: 0.0, 0.5 or 1.0."""
        closed = self.contactor
        if not closed and True not in self.beside:
            # Asked at every step of every simulation, and most of the time nothing can flow.
            return self._nothing
        share = [1.0 if heats else 0.0 for heats in self.beside]
        if closed:
            for zone, level in enumerate(self.levels):
                flows = STUCK[self.stuck[zone]][level]
                if flows:
                    blanket = zone if self.crossed is None else self.crossed[zone]
                    share[blanket] = max(share[blanket], flows)
        for zone, cutoff in enumerate(self.cutoffs):
            if cutoff.open or zone in self.unplugged:
                share[zone] = 0.0
        return tuple(share)

    def _follow(self, now_us: int) -> None:
        """Pass the alive line on to the detector, and the detector to the coil."""
        level = self.pin_stuck.get(self.alive_pin, self._set[self.alive_pin])
        if level != self._alive_level:
            self._alive_level = level
            self.detector.edge(now_us)
        coil = self.detector.on and not self.estop
        if coil != self._coil:
            self._coil = coil
            self._contactor_due_us = now_us + CONTACTOR_US
