"""The virtual rig's physical side in exact time: pins to power, power to plant, plant to chip frames.

Time is in integer microseconds. The plant is moved lazily: only when the power changes, when the chips
convert anew and when the truth is written down; it integrates exactly between, so nothing is lost by waiting.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from importlib import util
from typing import Any, Protocol

from .bench import Bench
from .chips import CONVERSION_US, Harness
from .hands import Hands
from .interpreter import RigError
from .mixed_chips import PLAIN, REGISTER, SIZES, MixedHarness, chip_names, chips_of
from .rig_scenario import Scenario
from .thermostat import Thermostat
from .truth_rows import Truth

SECOND_US = 1_000_000
# While anything heats, a cut-off is looked at no later than this.
LOOK_US = 250_000
# How often the firmware reads its chips.
READ_EVERY_US = 100_000


class PlantLike(Protocol):
    """What the rig needs of a plant; ribwright_sim.plant.Plant is the real one.

    zone: position of a zone in the rig file.
    """

    @property
    def time_s(self) -> float:
        """Simulated time since the start in seconds."""

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the pieces the side is cut into along its length."""

    def advance(self, dt_s: float, on: Sequence[float]) -> None:
        """Move on by dt_s seconds with this share of its power, 0 to 1, in each zone's blanket."""

    def thermocouple_c(self, zone: int) -> float:
        """Return the junction's temperature in degrees C."""

    def cold_junction_c(self, zone: int) -> float:
        """Return the chip's temperature in degrees C."""

    def press_on_form(self, zone: int) -> None:
        """Let the strip of this zone touch the form."""

    def sample(self) -> Any:  # noqa: ANN401 - has what is written down as attributes
        """Return the true state: ZONE_TRUTH with one entry per zone, COLUMN_TRUTH with one per column."""

    def energy(self) -> Any:  # noqa: ANN401 - has residual_fraction
        """Return the energy balance."""


def make_plant(scenario: Scenario) -> PlantLike:
    """Return the scenario's plant; raises RigError when the rig or the piece cannot be simulated."""
    settings: dict[str, Any] = {"seed": scenario.seed, "mains": scenario.mains}
    if scenario.ambient_c is not None:
        settings["ambient_c"] = scenario.ambient_c
    kind: Any
    if scenario.plant is None:
        from .plant import Plant as kind  # noqa: PLC0415, N813 - numpy loads only where it is used
    else:
        spec = util.spec_from_file_location("ribwright_test_plant", scenario.plant)
        if spec is None or spec.loader is None:
            raise RigError(f"scenario: plant {scenario.plant} is no Python file")
        module = util.module_from_spec(spec)
        spec.loader.exec_module(module)
        kind = module.Plant
    try:
        plant: PlantLike = kind.from_rig(scenario.rig, scenario.piece, **settings)
    except (ValueError, KeyError) as error:
        raise RigError(f"plant: {error}") from error
    return plant


class Physics:
    """Everything outside the board, moved along by its frames."""

    def __init__(self, scenario: Scenario, plant: PlantLike) -> None:
        """Start with all off at time 0; scenario names the pins, the noise and the file for the truth.

        plant: the stack on the rig.
        """
        self.plant = plant
        self.now_us = 0
        self.bench = Bench(scenario.relay_pins, int(scenario.rig["pins"]["alive"]))
        zones = len(scenario.relay_pins)
        self.chips = chips_of(scenario.rig, scenario.seed, scenario.noise_k)
        self.chip_names = names = chip_names(scenario.rig)
        mixed = set(names) != {PLAIN}
        self.harness = MixedHarness(self.chips) if mixed else Harness(self.chips)
        self.hands = Hands()
        self.thermostat: Thermostat | None = None
        if scenario.thermostat is not None:
            self.thermostat = Thermostat.from_mapping(zones, scenario.thermostat)
        self.words = [bytes(SIZES[name]) for name in names]
        self.on_us = [0] * zones
        self._plant_us = 0
        self._on = (0.0,) * zones
        # Called after every change of a pin, a relay or the contactor.
        self.watch: Callable[[], None] | None = None
        self._converted_us = -CONVERSION_US
        self._truth: Truth | None = None
        if scenario.truth_csv:
            self._truth = Truth(scenario.truth_csv, scenario.zone_names, plant.columns)
        self._second_us = 0
        self.board_ms = 0

    def take_edges(self, edges: Iterable[tuple[int, int, int]], elapsed_us: int) -> None:
        """Live through elapsed_us with the pin edges (us from now, pin, level) in it."""
        start_us = self.now_us
        for after_us, pin, level in edges:
            self._run_to(start_us + after_us)
            if pin >= REGISTER:
                self._happen(pin, level)
                continue
            self.bench.set_pin(pin, level, self.now_us)
            self._switch()
        self._run_to(start_us + elapsed_us)

    def release(self) -> None:
        """Let all pins of the board float, as in a reset."""
        self.bench.release(self.now_us)
        self._switch()

    def switch(self) -> None:
        """Take over what was changed at the bench by hand."""
        self.bench.settle(self.now_us)
        self._switch()

    def lose_supply(self) -> None:
        """Take the supply away from the board and the contactor's coil."""
        self.bench.lose_supply(self.now_us)
        if isinstance(self.harness, MixedHarness):
            self.harness.lose_supply()
        self._switch()

    def chip_words(self) -> list[bytes]:
        """Return the bytes of each chip, converted anew when a conversion has had its time."""
        harness = self.harness
        if isinstance(harness, MixedHarness):
            if harness.due(self.now_us):
                harness.live(self.now_us, *self._temperatures())
            self.words = harness.words()
        elif self.now_us - self._converted_us >= CONVERSION_US:
            self._converted_us = self.now_us
            self.words = harness.convert(*self._temperatures())
        return self.words

    def _temperatures(self) -> tuple[list[float], list[float]]:
        """Of each zone's junction and of its chip, degrees C, now."""
        self._move_plant()
        plant, zones = self.plant, range(len(self.chips))
        if self.thermostat is not None:
            self.bench.beside = self.thermostat.look([plant.thermocouple_c(zone) for zone in zones])
            self._switch()
        hot_c = [self.hands.junction_c(zone, self.now_us, plant.thermocouple_c(zone)) for zone in zones]
        return hot_c, [plant.cold_junction_c(zone) for zone in zones]

    def look_ahead(self) -> None:
        """While the board is at work: write the truth down, and have the plant do what will be due before the
        chips are read next, where it knows how to. Changes nothing.
        """
        if self._truth is not None:
            self._truth.write()
        foresee = getattr(self.plant, "look_ahead", None)
        if foresee is not None:
            until_us = self._converted_us + READ_EVERY_US
            foresee((until_us - self._plant_us) / SECOND_US)

    def _happen(self, event: int, value: int) -> None:
        """Hand what the board did on the converters' bus to the chip it was meant for."""
        if isinstance(self.harness, MixedHarness):
            self.harness.happen(event, value, self.now_us)

    def act(self, disturb: Callable[[], object]) -> None:
        """Do something to the plant now; disturb: called once the plant has come up to this moment."""
        self._move_plant()
        disturb()

    def put_junction(self, zone: int, at_c: float | None, lag_s: float) -> None:
        """Take a zone's junction to a place at at_c [C], None for back into the stack; else as Hands.put."""
        self._move_plant()
        self.hands.put(zone, at_c, lag_s, self.now_us, self.plant.thermocouple_c(zone))

    def put_plant(self, plant: PlantLike) -> None:
        """Have another stack, plant, on the rig from now on; the one before comes up to this moment first."""
        self._move_plant()
        self.plant = plant

    def press_on_form(self, zone: int) -> None:
        """Press the strip of a zone onto the form now."""
        self.act(lambda: self.plant.press_on_form(zone))

    def change_strip(self, which: str) -> None:
        """Change strips; a plant that knows of none stays as it is.

        which: "out" takes the side off, "in" lays the next strip into the stack.
        """
        change = getattr(self.plant, {"out": "take_out", "in": "lay_in"}[which], None)
        if change is not None:
            self.act(change)

    def close(self) -> None:
        """Finish the truth file."""
        if self._truth:
            self._truth.close()

    def _run_to(self, end_us: int) -> None:
        bench = self.bench
        while True:
            due_us = bench.next_us()
            # What was set by hand may have been due before.
            at_us = end_us if due_us is None or due_us > end_us else max(due_us, self.now_us)
            if any(self._on):
                at_us = min(at_us, self._plant_us + LOOK_US)
            if self._truth and self._second_us <= at_us:
                self.now_us = self._second_us
                self._second_us += SECOND_US
                self._move_plant()
                self._note_truth(self._truth)
            elif due_us is not None and due_us <= at_us:
                self.now_us = at_us
                bench.settle(at_us)
                self._switch()
            elif at_us < end_us:
                self.now_us = at_us
                self._move_plant()
            else:
                self.now_us = at_us
                return

    def _note_truth(self, truth: Truth) -> None:
        bench, on_s = self.bench, [us / SECOND_US for us in self.on_us]
        flags = (self.board_ms, int(bench.detector.on), int(bench.contactor))
        truth.note(self.now_us // SECOND_US, flags, self.plant.sample(), tuple(bench.levels), on_s)

    def _switch(self) -> None:
        if self.bench.powered() != self._on:
            self._move_plant()
            # Asked again: a cut-off may have opened on the way here.
            self._on = self.bench.powered()
        if self.watch is not None:
            self.watch()

    def _move_plant(self) -> None:
        elapsed_us = self.now_us - self._plant_us
        if elapsed_us > 0:
            elapsed_s = elapsed_us / SECOND_US
            self.plant.advance(elapsed_s, self._on)
            self._plant_us = self.now_us
            # A plant for tests may know nothing of where a cut-off sits: its junction then stands for it.
            place_c = getattr(self.plant, "cutoff_place_c", self.plant.thermocouple_c)
            opened = False
            for zone, share in enumerate(self._on):
                self.on_us[zone] += elapsed_us if share else 0
                was_open = self.bench.cutoffs[zone].open
                opened |= self.bench.feed(zone, place_c(zone), elapsed_s) and not was_open
            if opened:
                self._on = self.bench.powered()
