"""What a recorded warm-up may teach: each parameter with what is believed before and how far it may be off.

Most are factors on a row of materials.csv, so that 1 means "as the table says".  What is believed before the
log comes from the range of that row, as the standard deviation of an even draw; where no row says it, the
figure below is a proposal.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .materials import Row, load_materials

# Steps of the prior's standard deviation beyond which no value is looked for.
MOST_SIGMAS = 4.0
# Supplies lie mostly within 5 % of their voltage (from memory, unverified), so power in 10 %.
MAINS_SIGMA = 0.1 / math.sqrt(3.0)
# Proposals: loss to the room depends on how the rig hangs, the mat's heat on its thickness, heat along the
# side on where the blankets truly lie.
ALONG_SIGMA = 0.3
LOSS_SIGMA, BLANKET_HEAT_SIGMA, ROOM_SIGMA_K = 0.25, 0.12, 1.5
# Proposals, in points of moisture: a stated figure and a word such as "misted", as in ensemble.py.
STATED_POINTS, GUESSED_POINTS = 1.0, 3.0
# The second thermocouple's place, in cells of the wood from its middle: about 4 % of the thickness.
DEPTH_SIGMA = 0.25
# A stopwatch started by hand [s]: a proposal.
CLOCK_SIGMA_S = 1.5

Values = Mapping[str, float | Sequence[float]]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One number that may be learnt.

    Attributes:
        name: as in a rig's [fit] and in reports.
        words: what it is, for people.
        unit: of its value, "1" for a factor on the table's value.
        nominal: what a rig without a log has.
        sigma: standard deviation of what is believed before, a share of the value on scale "log".
        scale: "log", above zero and known to so many percent, or "even", known to so much.
        low, high: never outside.
        of: "zone" one for each zone, "rig" one, "run" one for each log, "wood" one for each log's wood.
    """

    name: str
    words: str
    unit: str
    nominal: float
    sigma: float
    scale: str
    low: float
    high: float
    of: str

    def value(self, step: float) -> float:
        """The value `step` prior standard deviations from the nominal one."""
        found = (
            self.nominal * math.exp(self.sigma * step)
            if self.scale == "log"
            else self.nominal + self.sigma * step
        )
        return min(max(found, self.low), self.high)

    def spread(self, value: float, steps: float) -> float:
        """Standard deviation at `value`, in the parameter's unit, of `steps` prior standard deviations."""
        return (value if self.scale == "log" else 1.0) * self.sigma * steps


@dataclass(frozen=True, slots=True)
class Slot:
    """One unknown of a fit: a parameter, the zone it belongs to or -1, the log it belongs to or -1."""

    parameter: Parameter
    zone: int = -1
    run: int = -1


def _log_sigma(*rows: Row) -> float:
    """Of what is drawn evenly within all rows' ranges, as a share: the root of the summed squares."""
    return math.sqrt(sum(math.log(row.high / row.low) ** 2 / 12.0 for row in rows))


def rig_parameters() -> tuple[Parameter, ...]:
    """What belongs to the rig and is the same in every log."""
    row = load_materials().row
    power = math.hypot(_log_sigma(row("silicone blanket", "power_factor")), MAINS_SIGMA)
    touch = "contact_conductance"
    contact = _log_sigma(row("slat on blanket", touch))
    wood = _log_sigma(row("foil on wood hanging", touch))
    mat = _log_sigma(row("silicone blanket", "conductivity"))
    lag, weight = row("thermocouple", "lag"), row("thermocouple", "face_weight")
    escape, vent = row("vented foil", "escape_time"), row("vented foil", "vent")
    weight_sigma = (weight.high - weight.low) / math.sqrt(12.0)
    edge = row("silicone blanket", "edge_power")
    escape_words = "time in which water leaves the wood"
    return (
        Parameter("power", "power over the label's, mains included", "1", 1.0, power, "log", 0.3, 2, "zone"),
        Parameter("loss", "loss to the room", "1", 1.0, LOSS_SIGMA, "log", 0.2, 4.0, "rig"),
        Parameter(
            "edge", "power at a blanket's ends", "1", edge.value, _log_sigma(edge), "log", 0.2, 1.5, "rig"
        ),
        Parameter("contact", "contact of blanket and slat", "1", 1.0, contact, "log", 0.1, 10.0, "zone"),
        Parameter(
            "blanket_heat", "heat the blanket holds", "1", 1.0, BLANKET_HEAT_SIGMA, "log", 0.5, 2, "rig"
        ),
        Parameter("blanket_conductivity", "heat through the blanket", "1", 1.0, mat, "log", 0.4, 2.5, "rig"),
        Parameter(
            "lag", "lag of the thermocouple", "s", lag.value, _log_sigma(lag), "log", 0.2, 20.0, "zone"
        ),
        Parameter(
            "weight",
            "share of the blanket's face in it",
            "1",
            weight.value,
            weight_sigma,
            "even",
            0,
            1,
            "zone",
        ),
        Parameter("along", "heat along the side", "1", 1.0, ALONG_SIGMA, "log", 0.2, 5.0, "rig"),
        Parameter("wood_contact", "contact of foil and wood", "1", 1.0, wood, "log", 0.1, 10.0, "rig"),
        Parameter("escape", escape_words, "s", escape.value, _log_sigma(escape), "log", 2.0, 600.0, "rig"),
        Parameter(
            "vent", "how freely steam leaves a wet face", "1", 1.0, _log_sigma(vent), "log", 0.02, 50, "rig"
        ),
    )


# Those of the rig that act through the wood alone: a thermocouple outside it tells them badly.
RIG_WOOD = ("wood_contact", "escape", "vent")


def run_parameters(piece: Mapping[str, object]) -> tuple[Parameter, ...]:
    """What may differ from log to log, for one profile's [piece]."""
    row = load_materials().row
    k_sigma = _log_sigma(row("wood", "conductivity_factor"))
    points = GUESSED_POINTS if piece.get("moisture_percent") is None else STATED_POINTS
    found = [
        Parameter("room", "room over the first reading", "K", 0.0, ROOM_SIGMA_K, "even", -6.0, 6.0, "run"),
        Parameter("wood_conductivity", "heat through the wood", "1", 1.0, k_sigma, "log", 0.4, 2.5, "wood"),
        Parameter("wood_density", "density of the wood", "1", 1.0, 0.08, "log", 0.5, 1.6, "wood"),
        Parameter("moisture", "water in the wood", "%", 0.0, points, "even", -12.0, 12.0, "wood"),
    ]
    wetted = str(piece.get("wetted", "dry"))
    if wetted != "dry":
        on_face = _log_sigma(row(f"wood {wetted}", "added_water"))
        words = "water put on its faces"
        found.append(Parameter("face_water", words, "1", 1.0, on_face, "log", 0.1, 10.0, "wood"))
    return tuple(found)


def wood_parameters() -> tuple[Parameter, ...]:
    """Of the second thermocouple: cells from the middle towards the form, and how late its clock began."""
    depth, clock = "depth of the second thermocouple", "its clock began late by"
    return (
        Parameter("depth", depth, "cells", 0.0, DEPTH_SIGMA, "even", -0.5, 0.5, "run"),
        Parameter("clock", clock, "s", 0.0, CLOCK_SIGMA_S, "even", -10.0, 10.0, "run"),
    )
