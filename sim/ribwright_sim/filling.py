"""From the arrays of many stacks to the fast solver's one array."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .effects import vapour_drive
from .layout import Stack
from .materials import StackError
from .rows import Index, Rows

F64 = NDArray[np.float64]


def _check(stacks: Sequence[Stack]) -> None:
    """Raises StackError unless all are cut and laid alike."""
    first = stacks[0]
    shape, wood = first.thickness_m.shape, first.wood
    for one in stacks:
        if one.thickness_m.shape != shape or one.wood != wood or one.zones != first.zones:
            raise StackError(
                "range", "stacks", "of several shapes", "must be of one shape", "", "batch each shape apart"
            )


def fill(rows: Rows, index: Index, stacks: Sequence[Stack], start_c: float | None, mains: F64) -> F64:
    """The array at the start of a run, (rows, lanes), one lane for each stack.

    Args:
        rows: as planned.
        index: as planned.
        stacks: all of one shape.
        start_c: temperature of the side at the start [C]; None, each stack's room.
        mains: volts over rated volts, one a lane.

    Raises StackError for stacks of several shapes.
    """
    _check(stacks)
    lanes = len(stacks)
    w = np.zeros((rows.size, lanes))

    def named(name: str) -> F64:
        values = np.array([getattr(one, name) for one in stacks], dtype=np.float64)
        return values.transpose(*range(1, values.ndim), 0)

    def put(row: int, values: F64) -> None:
        block = values.reshape(-1, lanes)
        w[row : row + len(block)] = block

    def put_each(row: int, values: F64) -> None:
        put(row, np.repeat(values, rows.cells, axis=0))

    for name, row in (
        ("gravity", rows.gravity),
        ("k_factor", rows.k_factor),
        ("k_rise", rows.k_rise),
        ("dry_kg_m2", rows.dry),
        ("escape_s", rows.escape),
        ("seep_s", rows.seep),
        ("vent_kg_m2_s", rows.vent),
        ("room_percent", rows.room),
        ("form_ramp_s", rows.ramp),
    ):
        put_each(row, named(name))
    wood = slice(rows.wood_first, rows.wood_first + rows.wood_count)
    for name, row in (("bound_percent", rows.bound), ("free_percent", rows.free)):
        cells = np.zeros((rows.columns, rows.cells, lanes))
        cells[:, wood] = named(name)
        put(row, cells)
    put(rows.junction_weight, named("junction_face_weight"))
    put(rows.junction_lag, named("junction_lag_s"))
    w[rows.met : rows.met + rows.chain] = np.inf
    room_c = named("ambient_c")
    w[rows.ambient] = room_c
    w[rows.room_drive : rows.room_drive + rows.chain] = vapour_drive(room_c)
    _fill_cells(w, rows, named, put, put_each)
    area = named("area_m2")
    power_w = named("power_w") * named("power_factor") * mains * mains
    share = named("heater_share").reshape(rows.zones, rows.chain, lanes)
    cell, zone = index.heated[:, 0], index.heated[:, 1]
    put(rows.flux, power_w[zone] * share[zone, cell] / area[cell // rows.cells])
    if rows.links:
        along = named("along_w_k")
        for row, end in ((rows.along_from, 0), (rows.along_to, 1)):
            put(row, along / area[index.along[:, end] // rows.cells])
    _fill_start(w, rows, room_c, start_c)
    return w


def _fill_cells(w: F64, rows: Rows, named: Any, put: Any, put_each: Any) -> None:
    """What cells are made of and touch."""
    thickness = named("thickness_m")
    put_each(rows.thickness, thickness[:, rows.wood_first])
    size, emissivity = named("face_size_m"), named("emissivity")
    for k, one, other in ((0, rows.size_0, rows.emissivity_0), (1, rows.size_1, rows.emissivity_1)):
        put_each(one, size[:, k])
        put_each(other, emissivity[:, k])
    half = 0.5 * thickness / named("conductivity_w_m_k")
    put(rows.half, half)
    w[rows.half + rows.chain] = 1.0
    back = named("back_w_m2_k")
    put_each(rows.back, back / (1.0 + back * half[:, 0]))
    for row, name in ((rows.hanging, "contact_hanging_w_m2_k"), (rows.pressed, "contact_pressed_w_m2_k")):
        # The last cell of a column touches nothing.
        put(row, np.pad(named(name), ((0, 0), (0, 1), (0, 0))))
    root = np.sqrt(named("capacity_j_m2_k"))
    put(rows.root, root)
    put(rows.inverse, 1.0 / root)
    w[rows.inverse + rows.chain] = 1.0


def _fill_start(w: F64, rows: Rows, room_c: F64, start_c: float | None) -> None:
    """Temperatures at the start; the form is as warm as the room."""
    side_c = room_c if start_c is None else np.full_like(room_c, start_c)
    cells = np.tile(side_c, (rows.columns, rows.cells, 1))
    cells[:, : rows.face_0] = room_c
    flat = cells.reshape(rows.chain, -1)
    for row in (rows.last, rows.ahead):
        w[row : row + rows.chain] = flat
    w[rows.state : rows.state + rows.chain] = flat * w[rows.root : rows.root + rows.chain]
    for row in (rows.junction, rows.junction_mean):
        w[row : row + rows.zones] = side_c
