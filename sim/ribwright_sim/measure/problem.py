"""The reference problem as peers want it: a right side in time, and the loop of control around it.

Stated anew from the numbers in reference.py, in the plain form of the equations, so that the peers do not
depend on how our solver poses them.  State: cell by cell from the top its temperature [C] and, in wood, its
moisture [kg/kg]; after the last wood cell the thermocouple.  Neighbours lie within three places.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribwright_sim import reference as ref

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]

BAND = 3


class Grid(NamedTuple):
    """Cells: thickness [m], conductivity and volumetric heat of solids, contact between cells [m2 K/W],
    heater [W/m2 each]; which are wood; places in the state.
    """

    thickness_m: F64
    conductivity: F64
    volumetric: F64
    contact_m2k_w: F64
    heater_w_m2: F64
    wood_first: int
    wood_stop: int
    place_t: I64
    place_m: I64
    place_tc: int
    size: int


def grid(cells: tuple[int, ...]) -> Grid:
    """The grid with `cells` cells in each of the six layers, from the top."""
    edges = np.concatenate([[0], np.cumsum(cells)]).astype(int)
    count, first, stop = int(edges[-1]), int(edges[1]), int(edges[2])
    thickness = np.concatenate([np.full(c, 1e-4 * t / c) for c, t in zip(cells, ref.TENTHS, strict=True)])
    conductivity, volumetric = np.full(count, ref.SILICONE_K), np.full(count, ref.SILICONE_J_M3_K)
    for layer in (0, 5):
        conductivity[edges[layer] : edges[layer + 1]] = ref.STEEL_K
        volumetric[edges[layer] : edges[layer + 1]] = ref.STEEL_J_M3_K
    contact = np.zeros(count - 1)
    contact[edges[1] - 1] = ref.STEEL_ON_WOOD_M2K_W
    contact[edges[2] - 1] = ref.WOOD_ON_BLANKET_M2K_W
    contact[edges[5] - 1] = ref.BLANKET_ON_STEEL_M2K_W
    heater = np.zeros(count)
    heater[edges[3] : edges[4]] = ref.HEATER_W_M2 / cells[3]
    wood = stop - first
    place_t = np.arange(count)
    place_t[first:stop] += np.arange(wood)
    place_t[stop:] += wood + 1
    return Grid(
        thickness,
        conductivity,
        volumetric,
        contact,
        heater,
        first,
        stop,
        place_t,
        place_t[first:stop] + 1,
        int(place_t[stop] - 1),
        count + wood + 1,
    )


def start(g: Grid) -> F64:
    """Everything at the room's temperature, the wood at its moisture: the state, (size,).

    Args:
        g: the grid.
    """
    y = np.full(g.size, ref.ROOM_C)
    y[g.place_m] = 0.01 * ref.WOOD_PERCENT
    return y


class Coefficients(NamedTuple):
    """Of one moment: conductance between cells [W/(m2 K)], half resistances [m2 K/W], volumetric heat
    [J/(m3 K)]; of the wood its rate [1/s], rest moisture [kg/kg] and heat of vapour [J/kg]; of the faces flux
    and slope [W/m2, W/(m2 K)].
    """

    link: F64
    half: F64
    heat: F64
    rate: F64
    rest: F64
    latent: F64
    top: tuple[F64, F64]
    bottom: tuple[F64, F64]


def coefficients(at_c: F64, m: F64, g: Grid) -> Coefficients:
    """What the right side needs, at temperatures and moistures.

    Args:
        at_c: (cells, ...) temperatures [C].
        m: (wood cells, ...) moistures [kg/kg].
        g: the grid.
    """
    shape = (-1,) + (1,) * (np.ndim(at_c) - 1)
    wood = slice(g.wood_first, g.wood_stop)
    t = at_c[wood]
    tk, mp = t + 273.15, 100.0 * m
    k = g.conductivity.reshape(shape) + np.zeros_like(at_c)
    k[wood] = (0.56 * (0.1941 + 0.4064 * m) + 0.01864) * (1.0 + 0.002 * (t - 24.0))
    heat = g.volumetric.reshape(shape) + np.zeros_like(at_c)
    more = 1000.0 * mp * (-0.06191 + 2.36e-4 * tk - 1.33e-4 * mp)
    heat[wood] = 560.0 * (103.1 + 3.867 * tk + 4186.0 * m + more * (1.0 + m))
    half = 0.5 * g.thickness_m.reshape(shape) / k
    faces = []
    for cell, factor in ((0, ref.TOP_FACTOR), (-1, ref.BOTTOM_FACTOR)):
        above, absolute = at_c[cell] - 20.0, at_c[cell] + 273.15
        root = np.cbrt(np.abs(above))
        flux = factor * root * above + 0.6 * 5.670374419e-8 * (absolute**4 - 293.15**4)
        faces.append((flux, 4.0 / 3.0 * factor * root + 2.4 * 5.670374419e-8 * absolute**3))
    return Coefficients(
        link=1.0 / (half[:-1] + g.contact_m2k_w.reshape(shape) + half[1:]),
        half=half,
        heat=heat,
        rate=np.exp(45e3 / 8.314462618 * (1.0 / 373.15 - 1.0 / tk)) / 150.0,
        rest=0.08 * np.exp((20.0 - t) / 45.0),
        latent=2.501e6 - 2361.0 * t + 1.17e6 * np.exp(-14.0 * m),
        top=faces[0],
        bottom=faces[1],
    )


def right_side(y: F64, on: float, g: Grid) -> F64:
    """Derivative of the whole state, of its shape [K/s, and 1/s for moisture].

    Args:
        y: the state, (size,) or (size, many).
        on: the relay, 0 or 1.
        g: the grid.
    """
    at_c, m = y[g.place_t], y[g.place_m]
    now = coefficients(at_c, m, g)
    shape = (-1,) + (1,) * (at_c.ndim - 1)
    dx = g.thickness_m.reshape(shape)
    flow = now.link * (at_c[:-1] - at_c[1:])
    leaving = now.rate * (now.rest - m)
    gain = on * g.heater_w_m2.reshape(shape) + np.zeros_like(at_c)
    gain[:-1] -= flow
    gain[1:] += flow
    gain[g.wood_first : g.wood_stop] += 560.0 * leaving * now.latent * dx[g.wood_first : g.wood_stop]
    gain[0] -= now.top[0]
    gain[-1] -= now.bottom[0]
    last = g.wood_stop - 1
    result = np.empty_like(y)
    result[g.place_t] = gain / (now.heat * dx)
    result[g.place_m] = leaving
    result[g.place_tc] = (at_c[last] - flow[last] * now.half[last] - y[g.place_tc]) / ref.LAG_S
    return result


def right_side_loop(
    y: F64,
    dy: F64,
    on: float,
    dx: F64,
    solid_k: F64,
    solid_heat: F64,
    contact: F64,
    heater: F64,
    first: int,
    stop: int,
) -> None:
    """`right_side` cell by cell, for a compiler.

    Args:
        y: the state, (size,).
        dy: takes its derivative, (size,).
        on: the relay, 0 or 1.
        dx: thickness of the cells [m], (cells,) as those below.
        solid_k: conductivity [W/(m K)]; that of wood is not used.
        solid_heat: volumetric heat [J/(m3 K)]; that of wood is not used.
        contact: resistance between neighbours [m2 K/W], one less than cells.
        heater: power in each cell [W/m2].
        first: place of the first wood cell among the cells.
        stop: place behind the last one.
    """
    flow_in, k_before, t_before, heat_before, source_before, at_before = 0.0, 1.0, 0.0, 1.0, 0.0, 0
    above = y[0] - 20.0
    # The third root's slope has no end at zero: symbolic peers need it a hair away.
    flow_in = -(1.52 * (above * above + 1e-20) ** (1.0 / 6.0) * above)
    flow_in -= 0.6 * 5.670374419e-8 * ((y[0] + 273.15) ** 4 - 293.15**4)
    place, tc = 0, 0
    for i in range(len(dx)):
        t, k, heat, source = y[place], solid_k[i], solid_heat[i] * dx[i], on * heater[i]
        wood = first <= i < stop
        if wood:
            m = y[place + 1]
            tk, mp = t + 273.15, 100.0 * m
            k = (0.56 * (0.1941 + 0.4064 * m) + 0.01864) * (1.0 + 0.002 * (t - 24.0))
            more = 1000.0 * mp * (-0.06191 + 2.36e-4 * tk - 1.33e-4 * mp)
            heat = 560.0 * (103.1 + 3.867 * tk + 4186.0 * m + more * (1.0 + m)) * dx[i]
            rate = math.exp(45e3 / 8.314462618 * (1.0 / 373.15 - 1.0 / tk)) / 150.0
            leaving = -rate * (m - 0.08 * math.exp((20.0 - t) / 45.0))
            dy[place + 1] = leaving
            source += 560.0 * leaving * (2.501e6 - 2361.0 * t + 1.17e6 * math.exp(-14.0 * m)) * dx[i]
        if i > 0:
            half = 0.5 * dx[i - 1] / k_before
            flow = (t_before - t) / (half + contact[i - 1] + 0.5 * dx[i] / k)
            dy[at_before] = (flow_in - flow + source_before) / heat_before
            if i == stop:
                dy[tc] = (t_before - flow * half - y[tc]) / 2.0
            flow_in = flow
        t_before, k_before, heat_before, source_before, at_before = t, k, heat, source, place
        place += 2 if wood else 1
        if i == stop - 1:
            tc = place
            place += 1
    above = t_before - 20.0
    flow = 0.8 * (above * above + 1e-20) ** (1.0 / 6.0) * above
    flow += 0.6 * 5.670374419e-8 * ((t_before + 273.15) ** 4 - 293.15**4)
    dy[at_before] = (flow_in - flow + source_before) / heat_before


def closed_loop(state: F64, place_tc: int, segment: Callable[[F64, float, float], F64], windows: int) -> F64:
    """Thermocouple at the start and at the end of every window [C].

    Args:
        state: at the start.
        place_tc: where the thermocouple stands in it.
        segment: (state, seconds, relay 0 or 1) -> state, started anew each time.
        windows: how many seconds to run, END_S at most.
    """
    gains, targets = ref.gains(), ref.targets_c()[:, 0]
    filtered, integral = ref.ROOM_C, 0.0
    trace = np.empty(windows + 1)
    trace[0] = state[place_tc]
    for k in range(windows):
        reading, duty = float(state[place_tc]), 0.0
        if not np.isnan(targets[k]):
            moved = gains["filter_share"] * (reading - filtered)
            filtered += moved
            error = targets[k] - reading
            raw = gains["kp"] * error + integral - gains["kd"] * moved
            duty = min(max(raw, 0.0), 1.0)
            integral += gains["ki"] * error + gains["unwind_share"] * (duty - raw)
        for length_s, on in ((duty, 1.0), (1.0 - duty, 0.0)):
            if length_s > 1e-9:
                state = segment(state, length_s, on)
        trace[k + 1] = state[place_tc]
    return trace
