"""Logs with a known answer: the project's own plant, heated by the plainest law, read with noise."""

from itertools import pairwise

import numpy as np

from ribwright_sim.fit_problem import Problem
from ribwright_sim.plant import Plant
from ribwright_sim.warmup import Warmup, WoodReadings

# One blanket as long as the side: a third of the cells of the two-zone rig, and a third of the time.
ONE_ZONE = {
    "unit": "C",
    "zones": [{"name": "full", "power_w": 420.0, "length_mm": 600, "width_mm": 90}],
    "stack": {"slat": "spring steel", "slat_mm": 0.25, "blanket_mm": 1.4, "foil_mm": 0.02},
}
SCRAP = {"species": "sapele", "thickness_mm": 1.7, "plies": 2, "wetted": "dry"}
NOISE_K = 0.12
ROOM_C = 21.0


def problem_for(rig, piece, *, wood):
    """A problem with nothing recorded: what a rig and its wood may be, by the names of a fit."""
    zones = len(rig["zones"])
    return Problem(rig, [empty(piece, zones, wood=wood)], use_numba=False)


def empty(piece, zones, *, wood):
    rows = np.arange(1.0, 4.0)
    return Warmup(
        "none",
        piece,
        rows,
        np.full((3, zones), ROOM_C),
        np.zeros((3, zones)),
        wood=WoodReadings(rows, np.full(3, ROOM_C), 0) if wood else None,
    )


def recorded(rig, piece, steps, plan, *, wood=False, seed=1, noise_k=NOISE_K, every_s=5, name="log"):
    """The log of a rig that lies `steps` prior standard deviations from nominal.

    plan: (seconds, target of each zone or None) one after another.
    """
    problem = problem_for(rig, piece, wood=wood)
    stack = problem._stack(np.asarray(steps, float), 0)
    plant = Plant(stack)
    zones = len(rig["zones"])
    for shares in problem.warmups[0].shares()[: problem.warmups[0].lead_s]:
        second(plant, shares)
    rng = np.random.default_rng(seed)
    measured, on_s, middle = [], [], []
    read = [plant.thermocouple_c(zone) for zone in range(zones)]
    for seconds, targets_c in plan:
        for _ in range(seconds):
            share = [
                0.0 if target is None else min(max(0.1 * (target + 2.0 - now), 0.0), 1.0)
                for target, now in zip(targets_c, read, strict=True)
            ]
            share = [round(one, 2) for one in share]
            mean = second(plant, share)[:zones]
            read = np.round(mean + noise_k * rng.standard_normal(zones), 1)
            measured.append(read)
            on_s.append(share)
            middle.append(plant.thermocouple_c(zones))
    row_s = np.arange(1.0, len(measured) + 1)
    clock_s = problem.values(np.asarray(steps, float), 0).get("clock", 0.0)
    at = slice(every_s - 1, None, every_s)
    in_wood = np.round(np.array(middle)[at] + 0.3 * rng.standard_normal(len(row_s[at])), 1)
    return Warmup(
        name,
        piece,
        row_s,
        np.array(measured),
        np.array(on_s, float),
        wood=WoodReadings(row_s[at] - clock_s, in_wood, 0) if wood else None,
    )


def second(plant, shares):
    """One second with each zone on for its share from the start; gives the mean of each junction."""
    edges = sorted({0.0, 0.25, 0.5, 0.75, 1.0, *(float(one) for one in shares)})
    count = len(shares)
    total, before = np.zeros(count), np.array([plant.thermocouple_c(zone) for zone in range(count)])
    heats = len(plant.zones)
    for start, end in pairwise(edges):
        on = [float(share) > start for share in shares] + [False] * (heats - count)
        plant.advance(end - start, on)
        now = np.array([plant.thermocouple_c(zone) for zone in range(count)])
        total += 0.5 * (end - start) * (before + now)
        before = now
    return total
