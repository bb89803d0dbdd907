"""Notebooks of sides whose spring-back is known, made in memory.

The law is invented; its signs follow what is held of setting: hotter, wetter, longer leaves less spring-back,
a thicker strip and a tighter radius more (a proposal, from relaxation near the softening of the matrix; no
figures for thin hardwood were found published). Scenario: sapele sides of a baritone ukulele.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import numpy as np
from peewee import SqliteDatabase

from .cases import collect
from .migrations import take_steps
from .models import Defect, Measurement, Piece, Side, Thickness, open_book
from .suggest import try_to_learn

# mm of mean gap for one unit more of each, and the gap of a side at CENTRE.
LAW = {
    "set_c": -0.12,
    "set_min": -0.06,
    "heat_min": -0.08,
    "thickness_mm": 4.0,
    "moisture_percent": -0.10,
    "tightest_radius_mm": -0.02,
}
CENTRE = {
    "set_c": 126.0,
    "set_min": 13.0,
    "heat_min": 14.0,
    "thickness_mm": 1.7,
    "moisture_percent": 12.0,
    "tightest_radius_mm": 45.0,
}
SPREAD = {
    "set_c": 5.0,
    "set_min": 3.0,
    "heat_min": 3.0,
    "thickness_mm": 0.08,
    "moisture_percent": 2.5,
    "tightest_radius_mm": 6.0,
}
GAP_AT_CENTRE_MM, SIDE_NOISE_MM, PIECE_NOISE_MM = 1.2, 0.4, 0.3


def true_gap(values: Mapping[str, float], law: Mapping[str, float] = LAW) -> float:
    """Mean gap of sides with such values, mm.

    values: by name, as CENTRE. law: mm for one unit more of each.
    """
    return GAP_AT_CENTRE_MM + sum(law[name] * (values[name] - CENTRE[name]) for name in law)


@contextmanager
def memory_book() -> Iterator[SqliteDatabase]:
    """An empty book in memory."""
    database = SqliteDatabase(":memory:", pragmas={"foreign_keys": 1})
    database.connect()
    take_steps(database)
    open_book.initialize(database)
    try:
        yield database
    finally:
        database.close()


def fill(
    seed: int,
    pieces: int,
    *,
    law: Mapping[str, float] = LAW,
    simulated: bool = False,
    crack_odds: float = 0.0,
) -> dict[str, float]:
    """Write pieces of two sides each, both measured; the values of the last side.

    seed: of everything drawn. pieces: how many. law: mm for one unit more of each. simulated: of all.
    crack_odds: log odds of a crack per standard deviation of moisture below its centre.
    """
    dice = np.random.default_rng(seed)
    values: dict[str, float] = {}
    with open_book.obj.atomic():
        for number in range(pieces):
            name = f"baritone {number + 1}{' rehearsed' if simulated else ''}"
            day = f"2026-{1 + number // 28:02d}-{1 + number % 28:02d}"
            piece = Piece.create(name=name, instrument="baritone ukulele", made_on=day, simulated=simulated)
            shared = dice.normal(0, PIECE_NOISE_MM)
            for which in ("bass", "treble"):
                values = {key: float(dice.normal(CENTRE[key], SPREAD[key])) for key in CENTRE}
                side = Side.create(
                    piece=piece,
                    which=which,
                    species="sapele",
                    set_c=values["set_c"],
                    set_s=values["set_min"] * 60,
                    heat_s=values["heat_min"] * 60,
                    moisture_percent=values["moisture_percent"],
                    tightest_radius_mm=values["tightest_radius_mm"],
                )
                Thickness.create(side=side, place="all along", thickness_mm=values["thickness_mm"])
                gap = true_gap(values, law) + shared + dice.normal(0, SIDE_NOISE_MM)
                Measurement.create(side=side, noted_on=day, gap_waist_mm=gap)
                dry = (CENTRE["moisture_percent"] - values["moisture_percent"]) / SPREAD["moisture_percent"]
                if crack_odds and dice.random() < 1 / (1 + np.exp(-crack_odds * dry)):
                    Defect.create(side=side, kind="cracked", place="waist", badness=2)
    return values


def covered(notebooks: int, pieces: int) -> dict[str, float]:
    """Share of notebooks in which the interval of an effect holds the invented truth, by effect, 0 to 1.

    notebooks: how many, drawn by their number. pieces: in each, of two measured sides. Raises ValueError
    where a notebook has too little to learn from.
    """
    hits = dict.fromkeys(LAW, 0)
    for seed in range(notebooks):
        with memory_book():
            fill(seed, pieces)
            learned, why = try_to_learn(collect(None).cases)
        if learned is None:
            raise ValueError(why)
        for effect in learned.effects():
            hits[effect.factor.name] += effect.low <= LAW[effect.factor.name] <= effect.high
    return {name: count / notebooks for name, count in hits.items()}
