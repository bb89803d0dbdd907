"""Water leaving the wood through vented foil: how fast each kind goes.

Two kinds of water lie in each cell of the wood, both counted in % of its ovendry mass.  Bound water is in
the walls, at most fibre saturation; free water is what misting, wiping or soaking put on the faces, and what
the walls cannot hold.  Free water goes first and takes its latent heat; bound water takes sorption heat too.

PROPOSAL, unverified: free water leaves in proportion to its vapour pressure above one atmosphere; bound water
relaxes toward its equilibrium in steam at one atmosphere within `escape_s`; below boiling only a slow seep
through the folds remains.  Heat supply usually decides, which is the plateau near 100 C.  Water does not
move between cells in this version, and free water does not soak in.

Arithmetic and numpy ufuncs alone, as in effects.py.
"""

from __future__ import annotations

import numpy as np

from .effects import Real, vapour_drive

# A thinner film than this no longer wets the whole face (PROPOSAL).
THIN_KG_M2 = 0.005


def steam_equilibrium_percent(drive: Real) -> Real:
    """Bound moisture [%] that steam at one atmosphere leaves in wood.

    Args:
        drive: vapour pressure over liquid water at the wood's temperature, in atmospheres; 1 and above.

    PROPOSAL, unverified bridge: the curve `wood.steam_bridge_percent`, which is the Wood Handbook's isotherm
    at 90 C shifted with the sorption heat, drawn within 0.05 % moisture from 100 to 230 C.  Below boiling the
    curve runs on past any moisture a wall can hold, so that tight foil keeps the water: 45 % at 97 C.

    >>> round(float(steam_equilibrium_percent(vapour_drive(120.0))), 1)
    4.7
    """
    h = np.minimum(1.0 / drive, 1.1)
    top = 0.25869988 + h * (28.55820651 + h * (-48.19208988 + h * 23.59031953))
    return h * top / (1.0 - 0.804257406 * h)


def wet_share(free_percent: Real, dry_kg_m2: Real) -> Real:
    """How much of a cell's face its free water wets, 0 to 1.

    Args:
        free_percent: free water [% of ovendry mass].
        dry_kg_m2: ovendry mass of the cell [kg/m2].
    """
    return np.minimum(1.0, 0.01 * free_percent * dry_kg_m2 / THIN_KG_M2)


def drying_rates_percent_s(
    at_c: Real,
    bound_percent: Real,
    free_percent: Real,
    dry_kg_m2: Real,
    escape_s: Real,
    seep_s: Real,
    vent_kg_m2_s: Real,
    room_percent: Real,
    room_drive: Real,
) -> tuple[Real, Real]:
    """`(bound, free)` water leaving a cell [% of its ovendry mass per second], never below 0.

    Args:
        at_c: temperature of the cell [C].
        bound_percent: bound water [%].
        free_percent: free water [%].
        dry_kg_m2: ovendry mass of the cell [kg/m2].
        escape_s: relaxation of bound water toward the steam equilibrium above boiling [s].
        seep_s: time constant of the loss through the folds at the boiling point [s].
        vent_kg_m2_s: free water leaving a wet cell at one atmosphere above ambient [kg/(m2 s)].
        room_percent: moisture of the wood in equilibrium with the room [%].
        room_drive: `effects.vapour_drive` of the room's temperature [1].

    PROPOSAL, see the top of this file.
    """
    drive = vapour_drive(at_c)
    wet = wet_share(free_percent, dry_kg_m2)
    seep = np.minimum(1.0, np.maximum(0.0, drive - room_drive)) / seep_s
    above_steam = np.maximum(0.0, bound_percent - steam_equilibrium_percent(drive))
    above_room = np.maximum(0.0, bound_percent - room_percent)
    bound = (1.0 - wet) * (above_steam / escape_s + above_room * seep)
    over = np.maximum(0.0, drive - 1.0)
    free = 100.0 / dry_kg_m2 * vent_kg_m2_s * over * wet + np.maximum(0.0, free_percent) * seep
    return bound, free
