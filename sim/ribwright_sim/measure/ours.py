"""Our side of every comparison: nothing but the shipped entry points, called as a user of them would."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ribwright_sim import reference as ref
from ribwright_sim.layout import Stack, stack_for
from ribwright_sim.plant import Plant
from ribwright_sim.solver import PID, ZONE, Runs, Scheme, Solver

# Properties of the reference problem change slowly: fresh coefficients every five seconds keep 0.05 K.
SCHEME = Scheme(step_s=1.0, refresh_steps=5, stiff=False)

# The example rig and piece, as the files in the host's library give them.
RIG: Mapping[str, object] = {
    "unit": "C",
    "zones": [
        {"name": "waist", "power_w": 105, "length_mm": 150, "width_mm": 90},
        {"name": "full", "power_w": 420, "length_mm": 600, "width_mm": 90},
    ],
    "stack": {
        "slat": "spring steel",
        "slat_mm": 0.25,
        "blanket_mm": 1.4,
        "foil_mm": 0.02,
        "form": "plywood",
        "form_mm": 25,
        "ambient": 21,
    },
}
PIECE: Mapping[str, object] = {
    "species": "sapele",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "pieces": 1,
    "plies": 1,
    "wetted": "misted",
}
BEND_AT_S = 600


def plants(count: int, cells: tuple[int, ...], seed: int) -> list[Stack]:
    """`count` stacks of the reference problem; the first is the stated one, the others drawn about it.

    Args:
        count: how many, the stated one with them.
        cells: of each of the six layers, from the top.
        seed: of the heaters' powers and the woods' densities, each 0.9 to 1.1 of the stated one.
    """
    rng = np.random.default_rng(seed)
    drawn = [
        ref.stack(cells, power=float(rng.uniform(0.9, 1.1)), density=float(rng.uniform(0.9, 1.1)))
        for _ in range(count - 1)
    ]
    return [ref.stack(cells), *drawn]


def solver(stacks: list[Stack], *, use_numba: bool) -> Solver:
    """The solver for these stacks of the reference problem; one stack is the scalar path.

    Args:
        stacks: as plants().
        use_numba: compiled; else numpy alone.
    """
    return Solver(stacks, laws=ref.LAWS, control=PID, scheme=SCHEME, use_numba=use_numba)


def run(one: Solver, lanes: int, *, trace: bool = False, windows: int = ref.END_S) -> Runs:
    """The reference problem on all lanes, control inside.

    Args:
        one: as solver().
        lanes: how many stacks that solver has, one lane each.
        trace: keep every window's junction temperatures.
        windows: how many to run, of a second each, END_S at most.
    """
    return one.run([[ref.gains()]] * lanes, ref.targets_c()[:windows], trace=trace)


def error_k(run_: Runs) -> float:
    """Distance of the first lane, which is the stated problem, from the reference solution [K].

    Args:
        run_: over the whole time, with its trace.
    """
    return ref.error_k(run_.trace_c[:, 0, 0])


def full_run() -> Plant:
    """Forty minutes of the example rig with every effect, both zones under control, through `Plant`."""
    plant = Plant.from_rig(RIG, PIECE)
    targets, gains = ref.targets_c()[:, 0], ref.gains()
    zones = range(len(plant.zones))
    filtered = [plant.thermocouple_c(zone) for zone in zones]
    integral = [0.0] * len(zones)
    for k, target_c in enumerate(targets):
        if k == BEND_AT_S:
            for zone in zones:
                plant.press_on_form(zone)
        duty = [0.0] * len(zones)
        for zone in zones:
            if np.isnan(target_c):
                continue
            reading = plant.thermocouple_c(zone)
            moved = gains["filter_share"] * (reading - filtered[zone])
            filtered[zone] += moved
            error = target_c - reading
            raw = gains["kp"] * error + integral[zone] - gains["kd"] * moved
            duty[zone] = min(max(raw, 0.0), 1.0)
            integral[zone] += gains["ki"] * error + gains["unwind_share"] * (duty[zone] - raw)
        now = 0.0
        for edge in sorted({*duty, 1.0}):
            if edge > now:
                plant.advance(edge - now, [share > now for share in duty])
                now = edge
    return plant


# Gains for the example rig's batch; any will do, the time is the same.
ZONE_GAINS: Mapping[str, float] = {
    "c_gain": 2.25,
    "c_integral": 3.1,
    "c_derivative": 0.567,
    "kappa": 1.67,
    "kp": 0.1,
    "ki": 0.005,
    "kd": 0.3,
}


def full_batch(count: int, seed: int) -> tuple[Solver, list[list[Mapping[str, float]]]]:
    """The example rig drawn `count` times, under the board's law, and its gains.

    Args:
        count: how many.
        seed: of the first one, one more for each other.
    """
    stacks = [stack_for(RIG, PIECE, seed=seed + k) for k in range(count)]
    return Solver(stacks, control=ZONE, use_numba=True), [[ZONE_GAINS] * len(stacks[0].zones)] * count
