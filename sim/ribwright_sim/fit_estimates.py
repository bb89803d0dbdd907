"""What a fit says of each parameter, and of the middle of the wood: figures and one of three verdicts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .fit_parameters import RIG_WOOD, Slot, Values
from .fit_problem import Problem, Seen
from .fitting import Solution, solve
from .warmup import Warmup

F64 = NDArray[np.float64]

# What is left of the sigma before: up to the first the log tells a parameter, up to the second partly.
IDENTIFIED, PARTLY = 0.4, 0.7
VERDICTS = ("identified", "partly", "not identified")


@dataclass(frozen=True, slots=True)
class Estimate:
    """One parameter after the fit.

    Attributes:
        name, words, unit: of the parameter. zone, run: positions, -1 for none. wood: acts through the wood.
        value, sigma: found, and its standard deviation, in the unit.
        prior, prior_sigma: before.
        left: standard deviation over the one before, 0-1; a large one says the log tells nothing.
        verdict: one of VERDICTS.
    """

    name: str
    words: str
    unit: str
    zone: int
    run: int
    wood: bool
    value: float
    sigma: float
    prior: float
    prior_sigma: float
    left: float
    verdict: str


@dataclass(frozen=True, slots=True)
class WoodBand:
    """Middle of the wood when the hottest thermocouple is there: seconds, C, and how sure [K].

    prior_k, sigma_k: standard deviation before and after the fit.
    """

    at_s: float
    middle_c: float
    prior_k: float
    sigma_k: float


@dataclass(frozen=True, slots=True)
class Fit:
    """A fit of some logs.

    Attributes:
        estimates: of every unknown. seen: per log its readings and the model's. bands: per log.
        residual_k, noise_k: (logs, zones) left over, and noise from reading to reading, root mean square.
        wood_residual_k: per log, None without a second thermocouple.
        values: of the rig alone, as a rig's [fit] holds them; sigmas: theirs.
        evaluations: batches of simulated warm-ups.
    """

    estimates: tuple[Estimate, ...]
    seen: tuple[Seen, ...]
    bands: tuple[WoodBand, ...]
    residual_k: F64
    noise_k: F64
    wood_residual_k: tuple[float | None, ...]
    values: Values
    sigmas: Values
    evaluations: int

    @property
    def fit_residual_k(self) -> float:
        """Root mean square over all logs and zones [K]."""
        return float(np.sqrt(np.nanmean(self.residual_k**2)))

    @property
    def fit_noise_k(self) -> float:
        """The same of the readings' noise [K]."""
        return float(np.sqrt(np.nanmean(self.noise_k**2)))


def fit(
    rig: Mapping[str, object],
    warmups: Sequence[Warmup],
    *,
    progress: Callable[[int], None] | None = None,
    use_numba: bool | None = None,
) -> Fit:
    """Fit a rig to its logs.

    Args:
        rig: a rig file's mapping.
        warmups: its logs.
        progress: called with the batches of simulated warm-ups so far.
        use_numba: absent, whether it is installed.

    Raises StackError for no logs, or for a rig or piece that cannot be simulated.
    """
    problem = Problem(rig, warmups, use_numba=use_numba)
    return told(solve(problem, progress))


def told(found: Solution) -> Fit:
    """The figures of a solution; found: where solve() ended."""
    left = np.sqrt(np.diag(found.covariance))
    estimates = tuple(
        _estimate(slot, float(step), float(share))
        for slot, step, share in zip(found.slots, found.steps, left, strict=True)
    )
    residual = [np.sqrt(np.nanmean((one.model_c - one.measured_c) ** 2, axis=0)) for one in found.seen]
    woods = [_rms(one.wood_model_c - one.wood_c) if len(one.wood_c) else None for one in found.seen]
    return Fit(
        estimates=estimates,
        seen=found.seen,
        bands=tuple(_band(one, found.covariance) for one in found.seen),
        residual_k=np.array(residual),
        noise_k=found.noise_k,
        wood_residual_k=tuple(woods),
        values=_of_rig(estimates, lambda one: one.value),
        sigmas=_of_rig(estimates, lambda one: one.sigma),
        evaluations=found.evaluations,
    )


def _estimate(slot: Slot, step: float, share: float) -> Estimate:
    parameter = slot.parameter
    value = parameter.value(step)
    verdict = VERDICTS[0 if share <= IDENTIFIED else 1 if share <= PARTLY else 2]
    return Estimate(
        name=parameter.name,
        words=parameter.words,
        unit=parameter.unit,
        zone=slot.zone,
        run=slot.run,
        wood=parameter.of == "wood" or parameter.name in RIG_WOOD,
        value=value,
        sigma=parameter.spread(value, share),
        prior=parameter.nominal,
        prior_sigma=parameter.spread(parameter.nominal, 1.0),
        left=share,
        verdict=verdict,
    )


def _band(seen: Seen, covariance: F64) -> WoodBand:
    """Where the hottest zone has come within 2 K of its highest reading for the first time."""
    zone = int(np.argmax(np.max(seen.model_c, axis=0)))
    at = int(np.argmax(seen.model_c[:, zone] >= seen.model_c[:, zone].max() - 2.0))
    slope = seen.middle_slope_c[at]
    return WoodBand(
        at_s=float(seen.end_s[at]),
        middle_c=float(seen.middle_c[at]),
        prior_k=float(np.sqrt(slope @ slope)),
        sigma_k=float(np.sqrt(slope @ covariance @ slope)),
    )


def _of_rig(estimates: Sequence[Estimate], figure: Callable[[Estimate], float]) -> Values:
    found: dict[str, float | Sequence[float]] = {}
    for one in estimates:
        if one.run >= 0:
            continue
        before = found.get(one.name)
        listed = list(before) if isinstance(before, Sequence) else []
        found[one.name] = [*listed, figure(one)] if one.zone >= 0 else figure(one)
    return found


def _rms(away: F64) -> float:
    return float(np.sqrt(np.mean(away * away)))
