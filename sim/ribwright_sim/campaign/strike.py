"""What a strike is: called once as strike(rig, zone, draw).

What it leaves among the rig's drivers is called before every tick. All of it is plain objects, so that a
struck rig can be copied like any other.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from .core_rig import CoreRig

Strike = Callable[[CoreRig, int, Random], None]
