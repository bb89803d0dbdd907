"""Rows of cells through the thickness, moved exactly while their coefficients are held.

A row is C dT/dt = -K T + s with a symmetric K.  In the natural modes of (C, K) each mode decays
on its own, so any step length is stable, costs a dozen small array operations, and chopping a step
in two gives the same answer to round-off.  All arrays are (columns, cells), per square metre of column.
"""

from __future__ import annotations

import copy

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]

# Below this decay per step the integral's closed form has no digits left and its series is exact enough.
_SERIES_BELOW = 1e-7


def chain(conductance: F64, ground: F64) -> F64:
    """Stiffness K of cells in a row [W/(m2 K)], shape (columns, cells, cells).

    Args:
        conductance: between neighbours, (columns, cells - 1) [W/(m2 K)].
        ground: from each cell to what is held outside, (columns, cells) [W/(m2 K)].
    """
    columns, cells = ground.shape
    k = np.zeros((columns, cells, cells))
    flat = k.reshape(columns, cells * cells)
    flat[:, cells :: cells + 1] = -conductance
    flat[:, 1 :: cells + 1] = -conductance
    diagonal = flat[:, :: cells + 1]
    diagonal += ground
    diagonal[:, :-1] += conductance
    diagonal[:, 1:] += conductance
    return k


def half_resistance(thickness_m: F64, conductivity_w_m_k: F64) -> F64:
    """From a cell's middle to its face [m2 K/W]."""
    result: F64 = 0.5 * thickness_m / conductivity_w_m_k
    return result


def link(resistance: F64, contact_w_m2_k: F64) -> F64:
    """Conductance between neighbouring middles [W/(m2 K)].

    Args:
        resistance: half resistance of every cell, (columns, cells) [m2 K/W].
        contact_w_m2_k: conductance of the joint, (columns, cells - 1) [W/(m2 K)]; 0 where nothing touches.
    """
    result: F64 = contact_w_m2_k / (1.0 + contact_w_m2_k * (resistance[:, :-1] + resistance[:, 1:]))
    return result


class Modes:
    """The column's state between two refreshes of its coefficients."""

    def __init__(self, capacity: F64, stiffness: F64, start_c: F64) -> None:
        """Args: capacity, (columns, cells) [J/(m2 K)]; stiffness, symmetric, (columns, cells, cells)
        [W/(m2 K)]; start temperatures, (columns, cells) [C].
        """
        root = np.sqrt(capacity)
        decay, vectors = np.linalg.eigh(stiffness / (root[:, :, None] * root[:, None, :]))
        self._decay = np.maximum(decay, 0.0)
        self._out = vectors / root[:, :, None]
        self._in = vectors.transpose(0, 2, 1) * root[:, None, :]
        self._state = np.matmul(self._in, start_c[:, :, None])[:, :, 0]
        self._sum = np.zeros_like(self._state)
        self._work = np.empty_like(self._state)
        self._factors: dict[float, tuple[F64, F64, F64]] = {}

    def fork(self) -> Modes:
        """The same state once more, to be moved on by itself; what is held is shared."""
        other = copy.copy(self)
        for name in ("_state", "_sum", "_work"):
            setattr(other, name, getattr(self, name).copy())
        return other

    def source(self, flux_w_m2: F64) -> F64:
        """A held source [W/m2 per cell] in modal form, for `step`."""
        result: F64 = self.sources(flux_w_m2[None])[0]
        return result

    def sources(self, flux_w_m2: F64) -> F64:
        """Several held sources in modal form, (sources, columns, cells) as given."""
        result: F64 = np.matmul(flux_w_m2.transpose(1, 0, 2), self._out).transpose(1, 0, 2)
        return result

    def step(self, dt_s: float, source: F64) -> None:
        """Move on by `dt_s` [s] under a modal `source`; exact for held coefficients."""
        factors = self._factors.get(dt_s)
        if factors is None:
            factors = self._factors[dt_s] = self._factors_for(dt_s)
        fade, first, second = factors
        work = self._work
        np.multiply(self._state, first, out=work)
        self._sum += work
        np.multiply(source, second, out=work)
        self._sum += work
        self._state *= fade
        np.multiply(source, first, out=work)
        self._state += work

    def _factors_for(self, dt_s: float) -> tuple[F64, F64, F64]:
        """Decay over the step, its integral, and the integral of that."""
        decay = self._decay
        x = decay * dt_s
        small = x < _SERIES_BELOW
        if not small.any():
            # What is written out below, where no mode needs the series: most steps of every run.
            first = -np.expm1(-x) / decay
            return np.exp(-x), first, (dt_s - first) / decay
        safe = np.where(small, 1.0, decay)
        fade = np.exp(-x)
        first = np.where(small, dt_s * (1.0 - 0.5 * x), -np.expm1(-x) / safe)
        second = np.where(small, 0.5 * dt_s * dt_s, (dt_s - first) / safe)
        return fade, first, second

    def one_c(self, column: int, cell: int) -> float:
        """Temperature of one cell [C]; column, cell: positions of both in the stack."""
        return float(self._out[column, cell] @ self._state[column])

    def temperatures_c(self) -> F64:
        """Temperature of every cell [C]."""
        result: F64 = np.matmul(self._out, self._state[:, :, None])[:, :, 0]
        return result

    def integral_c_s(self) -> F64:
        """Time integral of every cell's temperature since the start of this object [C s]."""
        result: F64 = np.matmul(self._out, self._sum[:, :, None])[:, :, 0]
        return result
