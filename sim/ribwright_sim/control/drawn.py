"""The ensemble: heated stacks drawn within what a shop may have.

A stack is one row of numbers, in the order of `NAMES`. Every range is an assumption for a study of control
(common practice, no source); the laws of the wood are in stack.py with their source.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .stack import hold_duty

F64 = NDArray[np.float64]

NAMES = (
    "wood_m",
    "density_kg_m3",  # at 12 % moisture
    "moisture_percent",
    "wood_k_factor",
    "escape_s",  # of bound water, through the foil
    "blanket_m",
    "blanket_k_w_m_k",
    "blanket_j_m3_k",
    "power_w_m2",  # at rated volts
    "slat_m",
    "slat_wood_w_m2_k",
    "wood_blanket_w_m2_k",
    "blanket_slat_w_m2_k",
    "pressed_factor",  # of those three, once the form is met
    "ambient_c",
    "wood_side_w_m2_k",  # convection of the face on the wood's side
    "wood_side_emissivity",
    "blanket_side_w_m2_k",
    "blanket_side_emissivity",
    "form_on_blanket_side",  # 1 for yes, 0 for the wood's side
    "form_w_m2_k",
    "form_k_w_m_k",
    "form_ramp_s",
    "form_warmer_k",  # than the room, before it is met
    "face_weight",  # of the blanket's face in what the thermocouple touches, the slat has the rest
    "lag_s",
    "volts",  # over rated
    "swing_phase",  # of the slow swing of the mains [rad]
)
AT = {name: place for place, name in enumerate(NAMES)}
# A stack that needs more than this of full power to hold 150 C in free air is drawn anew.
HOLD_C, HOLD_DUTY = 150.0, 0.90


def nominal() -> F64:
    """The stack in the middle of every range: 2 mm, 600 kg/m3, 10 %, 0.775 W/cm2, 20 C."""
    wood = (2.0e-3, 600.0, 10.0, 1.0, 25.0)
    blanket = (1.5e-3, 0.30, 1.7e6, 7750.0)
    joints = (0.3e-3, 450.0, 450.0, 450.0, 1.4)
    room = (20.0, 6.0, 0.6, 6.0, 0.6)
    form = (0.0, 110.0, 0.22, 15.0, 15.0)
    seen = (0.5, 4.0, 1.0, 0.0)
    return np.array([*wood, *blanket, *joints, *room, *form, *seen])


def _one(rng: np.random.Generator) -> F64:
    contact = 450.0 * 2.5 ** rng.uniform(-1.0, 1.0, 3)
    return np.array(
        [
            rng.uniform(1.5e-3, 3.2e-3),
            rng.uniform(450.0, 900.0),
            rng.uniform(6.0, 30.0),
            rng.uniform(0.85, 1.15),
            rng.uniform(10.0, 60.0),
            rng.uniform(1.3e-3, 1.7e-3),
            rng.uniform(0.22, 0.40),
            rng.uniform(1.5e6, 1.9e6),
            rng.uniform(4000.0, 15000.0),
            0.3e-3,
            *contact,
            rng.uniform(1.0, 1.8),
            rng.uniform(5.0, 35.0),
            rng.uniform(4.0, 9.0),
            rng.uniform(0.30, 0.85),
            rng.uniform(4.0, 9.0),
            rng.uniform(0.30, 0.85),
            float(rng.integers(0, 2)),
            50.0 * 5.0 ** rng.uniform(0.0, 1.0),
            rng.uniform(0.12, 0.40),
            rng.uniform(5.0, 30.0),
            rng.uniform(0.0, 30.0),
            rng.uniform(0.3, 0.7),
            rng.uniform(2.0, 8.0),
            rng.uniform(0.9, 1.1),
            rng.uniform(0.0, 2.0 * np.pi),
        ]
    )


def draw(seed: int, count: int) -> F64:
    """Stacks of one seed, (count, len(NAMES)); the first ones are the same whatever the count.

    Args:
        seed: of the draws.
        count: how many.
    """
    rng = np.random.default_rng(seed)
    found: list[F64] = []
    while len(found) < count:
        one = _one(rng)
        if hold_duty(one, HOLD_C) <= HOLD_DUTY:
            found.append(one)
    return np.array(found)
