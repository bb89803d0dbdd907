"""The mains side of the campaign's rig in exact time: pins to power, power to stack, and what is measured."""

from __future__ import annotations

from ribwright_board.core.rig_values import Rig
from ribwright_sim.bench import Bench

from .meter import CURRENT_SLACK_A, SECOND_US, Meter
from .plants import Sheet

# Cut-offs and the hottest node are looked at this often; both move slowly.
LOOK_US = SECOND_US // 2
RELAY_PINS = (10, 11)
ALIVE_PIN = 5


class MainsSide:
    """Bench, stack and meter, and the time they share.

    rig: checked values of a rig file. plant: its stack. now_us: real time. flowed_s: per blanket, seconds of
    full power so far. mains_lost_us: until then there is no mains.
    """

    def __init__(self, rig: Rig, plant: Sheet) -> None:
        """Args: the checked rig; its stack."""
        self.rig = rig
        self.plant = plant
        self.zones = len(rig.zones)
        self.now_us = 0
        self.bench = Bench(RELAY_PINS[: self.zones], ALIVE_PIN)
        self.meter = Meter()
        self.flowed_s = [0.0] * self.zones
        self.mains_lost_us = 0
        self._currents_a = [zone.current_a for zone in rig.zones]
        self._levels = [False] * self.zones
        self._looked_us = 0

    @property
    def wanted(self) -> list[bool]:
        """What the firmware last told each relay."""
        return self._levels

    def relays_off(self) -> None:
        """Switch every relay's pin off: the first thing a trip does."""
        for zone in range(self.zones):
            self._put(zone, on=False)

    def _switch(self, states: list[bool]) -> None:
        for zone in range(self.zones):
            if states[zone] != self._levels[zone]:
                self._put(zone, on=states[zone])

    def _put(self, zone: int, *, on: bool) -> None:
        if on or self._levels[zone]:
            self.meter.act(self.now_us)
        self._levels[zone] = on
        self.bench.set_pin(RELAY_PINS[zone], int(on), self.now_us)

    def flow(self, span_us: int) -> None:
        """Let the world live for a time [us], pins as they are."""
        bench = self.bench
        end_us = self.now_us + span_us
        while self.now_us < end_us:
            due_us = bench.next_us()
            until_us = end_us if due_us is None or due_us >= end_us else max(due_us, self.now_us)
            if until_us > self.now_us:
                self._live(until_us)
            if due_us is not None and due_us <= self.now_us:
                bench.settle(self.now_us)

    def _live(self, until_us: int) -> None:
        """A stretch in which nothing switches."""
        bench = self.bench
        dt_us = until_us - self.now_us
        share = bench.powered()
        if self.mains_lost_us > self.now_us:
            share = (0.0,) * self.zones
        flows = any(share)
        over = True in self._levels and self._drawn_a() > self.rig.branch_limit_a + CURRENT_SLACK_A
        self.meter.flow(self.now_us, dt_us, flows=flows, over=over, closed=bench.contactor)
        dt_s = dt_us / 1e6
        if flows:
            for zone in range(self.zones):
                self.flowed_s[zone] += share[zone] * dt_s
        self.plant.advance(dt_s, share)
        self.now_us = until_us
        if until_us - self._looked_us >= LOOK_US:
            self._look((until_us - self._looked_us) / 1e6)

    def _drawn_a(self) -> float:
        """What the blankets whose relays are commanded on are rated for together."""
        return sum(amps for on, amps in zip(self._levels, self._currents_a, strict=True) if on)

    def _look(self, dt_s: float) -> None:
        self._looked_us = self.now_us
        for zone in range(self.zones):
            self.bench.feed(zone, self.plant.cutoff_place_c(zone), dt_s)
            self.meter.hottest_c = max(self.meter.hottest_c, self.plant.hottest_blanket_c(zone))
