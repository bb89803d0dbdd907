"""Curvature along an outline, from points that lie on it: how much it turns over a short length.

Turning over a length is curvature itself on a circle and where curvature changes evenly; elsewhere the length
decides what is smoothed away.  A strip of wood smooths over some thicknesses anyhow.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribwright_host.errors import FileError

F64 = NDArray[np.float64]

# Turning is taken over so much of the outline [mm]: about three thicknesses of a side. PROPOSAL.
OVER_MM = 6.0
# Between two points nearer than this there is no direction [mm].
SAME_MM = 1e-6
# A turn from one chord to the next that no smooth outline makes between points so near.
CORNER_DEG = 20.0
EVERY_MM = 0.5


@dataclass(frozen=True)
class Curvature:
    """An outline as a strip sees it.

    along_mm: (n,) from its beginning. per_mm: (n,) curvature, signed: one way the waist, the other the bouts.
    length_mm: of the outline; closed: it ends where it begins.
    """

    along_mm: F64
    per_mm: F64
    length_mm: float
    closed: bool

    @property
    def strip_mm(self) -> float:
        """Length of the strip [mm]: half of a closed outline, which is two sides."""
        return self.length_mm / 2.0 if self.closed else self.length_mm

    def as_json(self) -> dict[str, Any]:
        """The curvature for a program."""
        return {
            "along_mm": self.along_mm.round(2).tolist(),
            "per_mm": self.per_mm.round(8).tolist(),
            "length_mm": self.length_mm,
        }

    def tightest(self) -> tuple[float, float]:
        """Smallest radius and where it is along the outline [mm]."""
        place = int(np.abs(self.per_mm).argmax())
        most = float(abs(self.per_mm[place]))
        return (1.0 / most if most > 0.0 else float("inf")), float(self.along_mm[place])


def curvature(points_mm: F64, name: str = "the outline", over_mm: float = OVER_MM) -> Curvature:
    """Curvature along an outline.

    points_mm: (n, 2), on it, in order. name: for errors. over_mm: what turning is taken over. Raises
    FileError for an outline shorter than that, or one with a corner.

    >>> turn = np.linspace(0.0, np.pi, 400)
    >>> half = 50.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    >>> round(curvature(half).tightest()[0], 2)
    50.0
    """
    chords = np.diff(points_mm, axis=0)
    lengths = np.hypot(*chords.T)
    chords, lengths = chords[lengths > SAME_MM], lengths[lengths > SAME_MM]
    length_mm = float(lengths.sum())
    if length_mm < 2.0 * over_mm or len(chords) < 3:
        raise FileError(
            f"{name} is {length_mm:.1f} mm long with {len(chords)} pieces; at least {2 * over_mm:g} mm "
            "are needed",
            "state its unit with --outline-unit, or name the outline itself",
            code="outline",
        )
    closed = bool(np.hypot(*(points_mm[-1] - points_mm[0])) < 1e-3 * length_mm)
    if closed:
        # Once round and a little further, so that the seam is no end.
        chords, lengths = np.concatenate([chords] * 2), np.concatenate([lengths] * 2)
    angle = np.unwrap(np.arctan2(chords[:, 1], chords[:, 0]))
    ends = np.cumsum(lengths)
    middle_mm = ends - 0.5 * lengths
    _no_corner(np.diff(angle), points_mm, lengths, name)
    first = middle_mm[0] + 0.5 * over_mm
    last = first + length_mm if closed else middle_mm[-1] - 0.5 * over_mm
    along = np.arange(first, last, EVERY_MM)
    turned = np.interp(along + 0.5 * over_mm, middle_mm, angle) - np.interp(
        along - 0.5 * over_mm, middle_mm, angle
    )
    return Curvature(along % length_mm if closed else along, turned / over_mm, length_mm, closed)


def _no_corner(turns: F64, points_mm: F64, lengths: F64, name: str) -> None:
    """Refuse an outline that breaks off its direction."""
    sharp = np.degrees(np.abs((turns + np.pi) % (2.0 * np.pi) - np.pi))
    near = np.minimum(lengths[1:], lengths[:-1])
    corners = np.flatnonzero((sharp > CORNER_DEG) & (near < OVER_MM))
    if not corners.size:
        corners = np.flatnonzero(sharp > 2.0 * CORNER_DEG)
    if corners.size:
        place = int(corners[0])
        x, y = points_mm[(place + 1) % len(points_mm)]
        raise FileError(
            f"{name} has a corner of {sharp[place]:.0f} degrees near x {x:.1f}, y {y:.1f} mm; a strip "
            "of wood "
            "has none",
            "draw the side alone, as one smooth curve",
            code="outline_corner",
        )
