"""What a strike is: called once as strike(rig, zone, draw).

rig: the warm rig it strikes, a CoreRig or its twin BoardRig. zone: the struck one, by its place in the rig's
order; 0 where the fault is the rig's. draw: of the case, for all that is left to chance.

What it leaves among the rig's drivers is called before every tick. All of it is plain objects, so that a
struck rig can be copied like any other.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from .core_rig import CoreRig

Strike = Callable[[CoreRig, int, Random], None]
