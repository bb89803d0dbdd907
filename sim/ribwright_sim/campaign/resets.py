"""Resets at random instants: the firmware is thrown away, its pins float low, and nothing may flow until a
deliberate press.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from ribwright_board.core.controller import TICK_MS

from .core_rig import CoreRig
from .phases import run_for

UP_S = 10.0
READY_S = 10.0
PROVED_S = 40.0


@dataclass(frozen=True, slots=True)
class Reset:
    """What came of a reset.

    half_cycles: that flowed before the press. pressed_flows: heat flowed after the press, so that the test
    can see heat at all. mode: of the rig when it struck. code: of a trip or a refusal, which must not
    be.
    """

    name: str
    mode: str
    half_cycles: int
    pressed_flows: bool
    code: str = ""


def reset_once(rig: CoreRig, name: str, seed: int) -> Reset:
    """Reset a rig somewhere between two edges, lay a run out again, and only then press start.

    Args:
        rig: a warm state.
        name: for the lists.
        seed: draws the instant.
    """
    draw = Random(f"reset {seed}")  # noqa: S311 - an instant, no secret
    run_for(rig, draw.uniform(0.0, 3.0))
    rig.hands.starts = rig.hands.present = False
    rig.hands.plan = []
    mode = rig.controller.mode
    # Within this very tick, whose length is by the firmware's clock.
    rig.cut_us = draw.randrange(TICK_MS * rig.us_per_ms)
    rig.tick()
    rig.meter.clear()
    rig.told = []
    run_for(rig, UP_S)
    if rig.controller.mode == "idle":
        rig.lay_out()
    run_for(rig, READY_S)
    before_us = rig.meter.flowed_us
    if rig.controller.mode == "ready":
        rig.hands.do(rig.now_us, "start")
        run_for(rig, PROVED_S)
    codes = [text for _, event, _, _, _, text in rig.told if event in ("trip", "refused")]
    return Reset(
        name,
        mode,
        rig.meter.half_cycles(before_us),
        pressed_flows=rig.meter.flowed_us > before_us,
        code=codes[0] if codes else "",
    )
