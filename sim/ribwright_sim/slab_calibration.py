"""The board's estimate of the middle of the wood, calibrated by a second thermocouple in it.

A recorded warm-up is fed to the firmware's own code second by second, as the board would have fed it; the
four figures it goes by are then fitted to what was read between two plies of scrap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.profile_values import Profile
from ribwright_board.core.rig_values import Rig
from ribwright_board.core.senses import Senses
from ribwright_board.core.wood_figures import BAND_K, CALIBRATED_BAND_K, LIMITS, WoodFigures
from ribwright_board.core.woods import Woods

from .fit_estimates import VERDICTS
from .slab_fit import LEAST_READINGS, NOMINAL, SlabFit, fit_slab
from .warmup import Warmup

F64 = NDArray[np.float64]
Slab = tuple[float, ...]

NAMES = ("resistance", "loss", "escape_s", "lead_s")
WORDS = (
    "thermocouple to wood",
    "loss of the other face",
    "time in which bound water leaves",
    "lead over the thermocouple",
)
UNITS = ("m2 K/W", "W/(m2 K)", "s", "s")
UNKNOWN = VERDICTS[2]
# Two sigma hold 95 % of what is normal; a band is stated in halves of a kelvin.
BAND_SIGMAS, BAND_STEP_K = 2.0, 0.5
# A rig file need not hold more.
DIGITS = 3


@dataclass(frozen=True, slots=True)
class Figure:
    """One of the four: its name in [zones.wood], words, unit; what the board goes by now, what was found.

    left: standard deviation over the one before, 0-1. verdict: one of fit_estimates.VERDICTS; a figure that
    is not identified has its nominal value and sigma.
    """

    name: str
    words: str
    unit: str
    before: float
    value: float
    sigma: float
    left: float
    verdict: str


@dataclass(frozen=True, slots=True)
class SlabCalibration:
    """What one run with a second thermocouple shows of one zone's estimate.

    Attributes:
        zone: position. figures: all of them.
        residual_k, before_k: root mean square against the second thermocouple, with what was found and with
            what the board goes by now. readings: how many of it were used.
        off_k: what the estimate may be off by, as far as this run tells. band_k: what may be written: never
            less than CALIBRATED_BAND_K, never more than BAND_K.
        time_s: (n,) ends of the log's seconds. before_c, after_c: (n,) the estimate, not a number for none.
    """

    zone: int
    figures: tuple[Figure, ...]
    residual_k: float
    before_k: float
    readings: int
    off_k: float
    band_k: float
    time_s: F64
    before_c: F64
    after_c: F64

    @property
    def told(self) -> bool:
        """Whether the log tells any of the figures."""
        return any(one.verdict != UNKNOWN for one in self.figures)

    @property
    def useful(self) -> bool:
        """Whether the figures may be written: some are told, and the estimate keeps to the nominal band."""
        return self.told and self.off_k <= BAND_K

    @property
    def values(self) -> Slab:
        """Resistance [m2 K/W], loss [W/(m2 K)], escape, lead [s]."""
        return tuple(one.value for one in self.figures)


class Replay:
    """A log as the board's estimate of one zone sees it."""

    def __init__(self, rig: Rig, warmup: Warmup, zone: int, room_c: float) -> None:
        """Take the heat and the readings of a log; nothing is estimated yet.

        Args:
            rig: checked.
            warmup: one of its logs.
            zone: position of the one whose estimate is wanted.
            room_c: the room [C].
        """
        self._rig, self._zone, self._room_c = rig, zone, room_c
        self._profile = Profile(warmup.name, rig.unit, dict(warmup.piece), [], rig.zone_names())
        self._shares: list[list[float]] = warmup.shares()[warmup.lead_s :].tolist()
        self.time_s = np.arange(1.0, len(self._shares) + 1.0)
        self._means_c = second_means(warmup, zone, self.time_s)

    @property
    def estimated(self) -> bool:
        """Whether the board estimates this wood at all: its density must be known."""
        return bool(self._woods(NOMINAL).estimates)

    def _woods(self, values: Slab) -> Woods:
        # Without a thickness, so that they are used for this wood whatever it is.
        wood = WoodFigures()
        wood.resistance_m2_k_w, wood.loss_w_m2_k, wood.escape_s, wood.lead_s = values
        rig = copy(self._rig)
        rig.zones = list(rig.zones)
        rig.zones[self._zone] = copy(rig.zones[self._zone])
        rig.zones[self._zone].wood = wood
        return Woods(rig, self._profile)

    def course(self, values: Slab) -> F64:
        """The estimate at the end of every second, (n,) [C], not a number for none; values: as NOMINAL."""
        woods = self._woods(values)
        senses = Senses(self._rig.zones)
        senses.cold_c = [self._room_c] * len(self._rig.zones)
        # The others read nothing here: no zone's estimate knows of another's.
        means_c: list[float | None] = [None] * len(self._rig.zones)
        found = np.full(len(self.time_s), np.nan)
        for second, (mean_c, shares) in enumerate(zip(self._means_c, self._shares, strict=True)):
            means_c[self._zone] = mean_c
            woods.second(means_c, senses, shares, 1000)
            mid_c = woods.mids_c[self._zone]
            if mid_c is not None:
                found[second] = mid_c
        return found


def second_means(warmup: Warmup, zone: int, time_s: F64) -> list[float | None]:
    """Mean of the thermocouple in every second, C; None for a second whose row has no reading.

    A row tells the mean of its relay window, which holds in the window's middle.

    Args:
        warmup: the log.
        zone: position.
        time_s: (n,) ends of the seconds.
    """
    middles_s = warmup.window_ends_s() - warmup.lead_s - 0.5 * warmup.window_s
    told = warmup.measured_c[warmup.fresh(), zone]
    known = np.isfinite(told)
    at_s = time_s - 0.5
    between = np.interp(at_s, middles_s[known], told[known])
    nearest = np.abs(at_s[:, None] - middles_s[None, :]).argmin(axis=1)
    return [float(value) if seen else None for value, seen in zip(between, known[nearest], strict=True)]


def calibrate(rig: Rig, warmup: Warmup, *, room_c: float, late_s: float = 0.0) -> SlabCalibration | None:
    """The figures of the zone over the second thermocouple.

    Args:
        rig: the checked rig, with what its zones go by now.
        warmup: a log with a second thermocouple.
        room_c: the room [C].
        late_s: how late the second thermocouple's clock began [s].

    None when the board estimates nothing of this wood. Raises ValueError for a log without a second
    thermocouple, or with fewer than LEAST_READINGS readings beside an estimate.
    """
    wood = warmup.wood
    if wood is None:
        raise ValueError("no second thermocouple lay in the wood; name its readings")
    replay = Replay(rig, warmup, wood.zone, room_c)
    if not replay.estimated:
        return None
    known = rig.zones[wood.zone].wood.of_piece(dict(warmup.piece))
    now = (known.resistance_m2_k_w, known.loss_w_m2_k, known.escape_s, known.lead_s)
    before_c = replay.course(now)
    beside = _Beside(replay, wood.time_s + late_s, wood.wood_c, before_c)
    fit = _fit(beside)
    values = _rounded(fit.values)
    after_c = replay.course(values)
    residual_k = beside.residual_k(after_c)
    off_k = _off_k(beside, values, fit.sigmas, residual_k)
    figures = tuple(
        Figure(*row)
        for row in zip(NAMES, WORDS, UNITS, now, values, fit.sigmas, fit.left, fit.verdicts, strict=True)
    )
    return SlabCalibration(
        zone=wood.zone,
        figures=figures,
        residual_k=residual_k,
        before_k=beside.residual_k(before_c),
        readings=len(beside.wood_c),
        off_k=off_k,
        band_k=band_k(off_k),
        time_s=replay.time_s,
        before_c=before_c,
        after_c=after_c,
    )


class _Beside:
    """The estimate where the second thermocouple was read."""

    def __init__(self, replay: Replay, at_s: F64, wood_c: F64, course_c: F64) -> None:
        self._replay = replay
        # Neither before the log nor after it, nor while the board has no estimate to show.
        shown = np.isfinite(np.interp(at_s, replay.time_s, course_c))
        kept = shown & (at_s >= replay.time_s[0]) & (at_s <= replay.time_s[-1])
        self._at_s, self.wood_c = at_s[kept], wood_c[kept]
        if len(self.wood_c) < LEAST_READINGS:
            raise ValueError(f"{len(self.wood_c)} readings beside an estimate, {LEAST_READINGS} are needed")

    def at(self, course_c: F64) -> F64:
        """A course where it was read, (m,) [C]."""
        known = np.isfinite(course_c)
        found: F64 = np.interp(self._at_s, self._replay.time_s[known], course_c[known])
        return found

    def estimate(self, *values: float) -> F64:
        """The estimate by these figures, (m,) [C]."""
        return self.at(self._replay.course(_within(values)))

    def residual_k(self, course_c: F64) -> float:
        """Root mean square of a course against what was read [K]."""
        return float(np.sqrt(np.mean((self.at(course_c) - self.wood_c) ** 2)))


def _fit(beside: _Beside) -> SlabFit:
    """All of them; what the log does not tell keeps its nominal value, and the others are fitted again."""
    lost = [False] * len(NOMINAL)
    while True:
        found = fit_slab(partial(_held, beside, lost), beside.wood_c, NOMINAL)
        more = [verdict == UNKNOWN for verdict in found.verdicts]
        if more == lost:
            return found
        lost = more


def _held(beside: _Beside, lost: Sequence[bool], *values: float) -> F64:
    """The estimate with the nominal value of what is lost."""
    parts = zip(values, NOMINAL, lost, strict=True)
    return beside.estimate(*(nominal if gone else value for value, nominal, gone in parts))


def _off_k(beside: _Beside, values: Slab, sigmas: Sequence[float], residual_k: float) -> float:
    """What was left over, with what each figure's own sigma changes of the estimate [K]."""
    middle = beside.estimate(*values)
    square = residual_k**2
    for which, sigma in enumerate(sigmas):
        moved = list(values)
        moved[which] += sigma
        square += float(np.mean((beside.estimate(*moved) - middle) ** 2))
    return BAND_SIGMAS * math.sqrt(square)


def band_k(off_k: float) -> float:
    """A band that may be written, from what the estimate may be off by [K].

    Rounded up. Never less than CALIBRATED_BAND_K: one run of one scrap is not every piece, and a class 2
    thermocouple of type K may itself be 2.5 K off (IEC 60584-1, from memory). Never more than what is said
    of a rig that nobody has calibrated.

    >>> band_k(0.9), band_k(4.1), band_k(30.0)
    (3.5, 4.5, 8.0)
    """
    up_k = BAND_STEP_K * math.ceil(off_k / BAND_STEP_K)
    return min(max(up_k, CALIBRATED_BAND_K), BAND_K)


def _within(values: Sequence[float]) -> Slab:
    """The figures within what a rig file may hold."""
    return tuple(min(max(value, low), high) for value, (low, high) in zip(values, LIMITS, strict=True))


def _rounded(values: Sequence[float]) -> Slab:
    return tuple(float(f"{value:.{DIGITS}g}") for value in _within(values))
