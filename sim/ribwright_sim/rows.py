"""Where everything lies in the fast solver's one array: rows by lanes, a lane being one stack.

The columns of a stack stand one below the other, so a stack of N columns of C cells is a chain of N * C rows
whose columns touch nowhere.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .layout import Stack
from .materials import StackError

I64 = NDArray[np.int64]


class Rows(NamedTuple):
    """Sizes, then the first row of each block, in the array of the solver.

    Sizes: lanes, columns, cells of a column, chain = columns * cells, wood_first and wood_count within a
    column, zones, heated rows, links along the side, face_0 and face_1 within a
    column, covered_0 (1 where the form covers face_0), state and gain rows of one zone's control.

    Blocks: in the order of `blocks`; scaled cells are temperature [C] times root.
    """

    lanes: int
    columns: int
    cells: int
    chain: int
    wood_first: int
    wood_count: int
    zones: int
    heated: int
    links: int
    face_0: int
    face_1: int
    covered_0: float
    control_rows: int
    gain_rows: int
    # Cells of the chain.
    state: int
    middle: int
    stage: int
    weight: int
    factor: int
    push: int
    root: int
    inverse: int
    ahead: int
    last: int
    half: int
    link: int
    slope: int
    source: int
    hanging: int
    pressed: int
    pulse: int
    # Water and drying: of use at wood cells.
    bound: int
    free: int
    bound_ahead: int
    free_ahead: int
    bound_rate: int
    free_rate: int
    bound_slope: int
    free_slope: int
    bound_heat: int
    free_heat: int
    total: int
    # Said once for a column, kept at every cell: all rows of a loop must lie equally far apart.
    gravity: int
    k_factor: int
    k_rise: int
    dry: int
    escape: int
    seep: int
    vent: int
    room: int
    room_drive: int
    thickness: int
    ramp: int
    met: int
    back: int
    size_0: int
    size_1: int
    emissivity_0: int
    emissivity_1: int
    # The whole lane.
    ambient: int
    # Links along the side: W/(m2 K) at either end.
    along_from: int
    along_to: int
    # Heated rows: W/m2 at full power, the same scaled, what else is pushed there.
    flux: int
    heat: int
    rest: int
    # Zones.
    duty: int
    share: int
    kick: int
    junction: int
    junction_mean: int
    step_mean: int
    junction_stage: int
    junction_weight: int
    junction_lag: int
    near: int
    next: int
    junction_pulse: int
    control: int
    gains: int
    figures: int
    dense: int
    size: int


# What every step touches stands first, side by side.
CELL_BLOCKS = tuple(
    (
        "state middle stage weight factor push pulse "
        "root inverse ahead last half link slope source hanging pressed "
        "bound free bound_ahead free_ahead bound_rate free_rate bound_slope free_slope "
        "bound_heat free_heat total "
        "gravity k_factor k_rise dry escape seep vent room room_drive thickness ramp met back "
        "size_0 size_1 emissivity_0 emissivity_1"
    ).split()
)
ZONE_BLOCKS = tuple(
    (
        "duty share kick junction junction_mean step_mean "
        "junction_stage junction_weight junction_lag near next"
    ).split()
)
# Rows of a zone's figures, see steps.judge.
FIGURE_ROWS = 6


class Index(NamedTuple):
    """Rows that need a list: heated (row, zone), junction row of each zone, links (from, to)."""

    heated: I64
    junction: I64
    along: I64


def plan(first: Stack, lanes: int, control_rows: int, gain_rows: int, *, dense: bool) -> tuple[Rows, Index]:
    """Rows and lists for stacks shaped like `first`; `dense` adds room for one matrix a lane.

    Args:
        first: any of the stacks.
        lanes: how many stacks are run side by side.
        control_rows: of one zone's control, for its memory.
        gain_rows: the same, for its gains.
        dense: for one lane that is run without a compiler.

    Raises StackError where two zones heat the same cell.
    """
    columns, cells = first.thickness_m.shape
    wood_first, wood_count = first.wood.start, first.wood.stop - first.wood.start
    zones = len(first.zones)
    count = columns * cells
    heated = np.argwhere(first.heater_share.reshape(zones, count) > 0.0)[:, ::-1].astype(np.int64)
    if len(set(heated[:, 0].tolist())) != len(heated):
        raise StackError(
            "range", "heater_share", "two zones", "must be one zone", "per cell", "split the cell"
        )
    links = len(first.along_from)
    # An empty row before and after each block of cells lets sweeps start without a special case.  An odd
    # number of rows keeps the blocks from falling on the same lines of a processor's cache.
    block = (count + 2) | 1
    starts, row = {}, 0
    for name in CELL_BLOCKS:
        starts[name] = row + 1
        row += block + (zones - 1) * count if name == "pulse" else block
    sizes = dict.fromkeys(("along_from", "along_to"), links)
    sizes |= {"ambient": 1} | dict.fromkeys(("flux", "heat", "rest"), len(heated))
    sizes |= dict.fromkeys(ZONE_BLOCKS, zones)
    sizes |= {
        "junction_pulse": zones * zones,
        "control": zones * control_rows,
        "gains": zones * gain_rows,
        "figures": zones * FIGURE_ROWS,
        # One lane without a compiler is stepped by whole matrices.
        "dense": count * count if dense else 0,
    }
    for name, size in sizes.items():
        starts[name] = row
        row += size
    rows = Rows(
        lanes,
        columns,
        cells,
        count,
        wood_first,
        wood_count,
        zones,
        len(heated),
        links,
        int(first.face_cell[0]),
        int(first.face_cell[1]),
        float(first.face_covered[0]),
        control_rows,
        gain_rows,
        **starts,
        size=row,
    )
    junction = (first.junction_column * cells + first.junction_cell).astype(np.int64)
    along = np.stack([first.along_from, first.along_to], axis=1).astype(np.int64).reshape(links, 2)
    return rows, Index(heated, junction, along)
