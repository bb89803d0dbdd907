"""A linear plant in states: its step response, and the same plant as a sampled loop sees it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .lag_model import LagModel
from .loop_models import C128, F64, FirstOrder, Integrating, Response, SecondOrder, checked
from .materials import StackError

# Terms of the exponential series and the size it is scaled to: 0.5^18 / 18! is below round-off.
_TERMS, _SMALL = 18, 0.5
# Times are evenly spaced when their gaps differ by no more than round-off.
_EVEN_S = 1e-9


def hold(a: F64, b: F64, dt_s: float) -> tuple[F64, F64]:
    """What a step of dt_s [s] with the input held does to the states: x -> phi x + gamma u, exactly.

    Args: a (n, n) and b (n,) of x' = a x + b u; dt_s, 0 or above.  The exponential of the block matrix
    [[a, b], [0, 0]] by scaling, series and squaring (Van Loan 1978, from memory).
    """
    n = len(b)
    block = np.zeros((n + 1, n + 1))
    block[:n, :n], block[:n, n] = a, b
    block *= dt_s
    size = float(np.abs(block).sum(axis=1).max())
    halvings = max(0, math.ceil(math.log2(size / _SMALL))) if size > _SMALL else 0
    block /= 2.0**halvings
    whole = np.eye(n + 1)
    term = np.eye(n + 1)
    for k in range(1, _TERMS + 1):
        term = term @ block / k
        whole = whole + term
    for _ in range(halvings):
        whole = whole @ whole
    return whole[:n, :n], whole[:n, n]


@dataclass(frozen=True, slots=True, eq=False)
class LinearPlant:
    """x' = a x + b u(t - dead_s), y = c x + d u(t - dead_s).

    a (n, n), b (n,), c (n,), d a number [K], dead_s [s] 0 or above.  Raises StackError where shapes disagree
    or a number is not finite.
    """

    a: F64
    b: F64
    c: F64
    d: float = 0.0
    dead_s: float = 0.0

    def __post_init__(self) -> None:
        checked("dead_s", self.dead_s, "s", "no plant answers before it is asked", zero=True)
        n = len(self.b)
        shapes = (np.shape(self.a), np.shape(self.b), np.shape(self.c))
        if shapes != ((n, n), (n,), (n,)) or n == 0:
            raise StackError(
                "range", "a, b, c", shapes, "must be (n, n), (n,), (n,)", "", "correct the matrices"
            )
        if not all(np.all(np.isfinite(part)) for part in (self.a, self.b, self.c, self.d)):
            raise StackError(
                "range", "a, b, c, d", "not finite", "must be finite", "", "correct the matrices"
            )

    @classmethod
    def from_lags(cls, model: LagModel | FirstOrder | SecondOrder | Integrating) -> LinearPlant:
        """The same plant in states, one for every lag and one for an integrator.

        Args: model, a product of lags or one of the small models.
        """
        lags = _as_lags(model)
        parts = [(-1.0 / lag_s, 1.0 / lag_s) for lag_s in lags.lags_s] + [(0.0, 1.0)] * lags.integrating
        n = len(parts)
        a, b, c, d = np.zeros((n, n)), np.zeros(n), np.zeros(n), lags.gain
        zeros_s = lags.zeros_s + (0.0,) * (n - len(lags.zeros_s))
        for k, ((decay, drive), zero_s) in enumerate(zip(parts, zeros_s, strict=True)):
            # So far the chain gives c x + d u; this part takes that as its input.
            a[k], b[k] = drive * c, drive * d
            a[k, k] = decay
            c *= zero_s * drive
            c[k] = 1.0 + zero_s * decay
            d *= zero_s * drive
        return cls(a, b, c, d, lags.dead_s)

    def response(self, rad_s: F64) -> C128:
        """Complex gain at angular frequencies [rad/s], above 0 where the plant integrates."""
        s = np.asarray(1j * np.asarray(rad_s, dtype=np.float64), dtype=np.complex128)
        return np.asarray((self._solved(s, self.a, self.b) @ self.c + self.d) * np.exp(-self.dead_s * s))

    def step(self, times_s: F64) -> F64:
        """Readings after a unit step at 0 that found everything at 0.

        Args: times_s (n,) [s], in any order; evenly spaced ones are quick.
        """
        since_s = np.asarray(times_s, dtype=np.float64) - self.dead_s
        after = np.flatnonzero(since_s > 0.0)
        readings = np.zeros(len(since_s))
        gaps_s = np.diff(since_s[after])
        even = len(gaps_s) > 0 and gaps_s[0] > 0.0 and bool(np.all(np.abs(gaps_s - gaps_s[0]) <= _EVEN_S))
        phi, gamma = hold(self.a, self.b, float(gaps_s[0])) if even else (self.a, self.b)
        at = np.zeros(len(self.b))
        for k, n in enumerate(after):
            at = phi @ at + gamma if even and k else hold(self.a, self.b, float(since_s[n]))[1]
            readings[n] = self.c @ at + self.d
        return readings

    def sampled(self, sample_s: float) -> Response:
        """Response up to pi / sample_s of the plant read every sample_s [s], just before the input changes.

        Exact for any dead time (modified z-transform).  Raises StackError for a sample_s not above 0.
        """
        checked("sample_s", sample_s, "s", "use 1")
        delay = math.floor(self.dead_s / sample_s) + 1
        phi, gamma = hold(self.a, self.b, sample_s)
        late_phi, late_gamma = hold(self.a, self.b, delay * sample_s - self.dead_s)
        c, d = self.c @ late_phi, float(self.c @ late_gamma) + self.d

        def response(rad_s: F64) -> C128:
            z = np.exp(1j * np.asarray(rad_s, dtype=np.float64) * sample_s)
            return np.asarray((self._solved(z, phi, gamma) @ c + d) * z**-delay)

        return response

    @staticmethod
    def _solved(at: C128, a: F64, b: F64) -> C128:
        """(at I - a)^-1 b for every point, shape (points, n)."""
        full = np.atleast_1d(at)[:, None, None] * np.eye(len(b)) - a
        return np.asarray(np.linalg.solve(full, np.broadcast_to(b[:, None], (len(full), len(b), 1)))[..., 0])


def _as_lags(model: LagModel | FirstOrder | SecondOrder | Integrating) -> LagModel:
    match model:
        case LagModel():
            return model
        case FirstOrder():
            return LagModel(model.gain, (model.lag_s,), (), model.dead_s)
        case SecondOrder():
            lags_s = tuple(lag_s for lag_s in (model.lag_s, model.second_lag_s) if lag_s)
            return LagModel(model.gain, lags_s, (), model.dead_s)
        case Integrating():
            lags_s = tuple(lag_s for lag_s in (model.lag_s,) if lag_s)
            return LagModel(model.slope_per_s, lags_s, (), model.dead_s, integrating=True)
