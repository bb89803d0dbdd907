"""Graphical symbols as drawing elements: of IEC 60617 for 200 to 250 V, of IEEE 315 for 100 to 130 V.

From memory of both standards; where the library has a symbol, it is used. Two-terminal symbols run along
their own x axis; drawn downwards, their own left side is the drawing's left.
"""

from collections.abc import Sequence
from typing import Any

from schemdraw.elements import Element, Element2Term, FuseIEEE, FuseUS, ResistorIEEE
from schemdraw.segments import Segment, SegmentArc, SegmentCircle, SegmentPoly

Path = Sequence[tuple[float, float]]
GAP = (float("nan"), float("nan"))


class _Body(Element2Term):
    """A two-terminal symbol, one unit long, from plain paths."""

    def __init__(self, *paths: Path, **kwargs: Any) -> None:  # noqa: ANN401 - the library's own keywords
        super().__init__(**kwargs)
        self.segments.append(Segment([(0, 0), GAP, (1, 0)]))
        self.segments += [Segment(path) for path in paths]


def _contact(*, american: bool, closed: bool) -> list[Path]:
    """Contact that is open or closed at rest."""
    if american:
        bars: list[Path] = [[(0, 0), (0.38, 0)], [(0.62, 0), (1, 0)]]
        bars += [[(x, -0.3), (x, 0.3)] for x in (0.38, 0.62)]
        return [*bars, [(0.2, -0.3), (0.8, 0.3)]] if closed else bars
    paths: list[Path] = [[(0, 0), (0.2, 0)], [(0.85, 0), (1, 0)]]
    if closed:
        return [*paths, [(0.2, 0), (0.2, -0.34)], [(0.85, 0), (0.1, -0.32)]]
    return [*paths, [(0.85, 0), (0.16, -0.36)]]


class Contact(_Body):
    """Contact of a switch or relay.

    american: IEEE 315, else IEC 60617. closed: at rest.
    """

    def __init__(self, *, american: bool, closed: bool = False) -> None:
        super().__init__(*_contact(american=american, closed=closed))


class MainContact(_Body):
    """Main pole of a contactor.

    american: IEEE 315, else IEC 60617 with the half circle of a contactor.
    """

    def __init__(self, *, american: bool) -> None:
        super().__init__(*_contact(american=american, closed=False))
        if not american:
            self.segments.append(SegmentArc((0.2, -0.09), 0.18, 0.18, theta1=-90, theta2=90))


class Breaker(_Body):
    """Pole of a circuit breaker.

    american: IEEE 315's bow, else IEC 60617's contact with a cross.
    """

    def __init__(self, *, american: bool) -> None:
        if american:
            super().__init__([(0, 0), (0.12, 0)], [(0.88, 0), (1, 0)])
            self.segments.append(SegmentArc((0.5, 0), 0.76, 0.6, theta1=0, theta2=180))
        else:
            super().__init__(*_contact(american=False, closed=False))
            self.segments += [
                Segment([(0.1, -0.1), (0.3, 0.1)]),
                Segment([(0.1, 0.1), (0.3, -0.1)]),
            ]


def fuse(*, american: bool) -> Element2Term:
    """Fuse: the wave of IEEE 315, or the box with a line through it of IEC 60617.

    american: which.
    """
    return FuseUS(dots=False) if american else FuseIEEE()


class HeaterIEC(_Body):
    """Heating element of IEC 60617: a box with bars across."""

    def __init__(self) -> None:
        bars: list[Path] = [[(x, -0.25), (x, 0.25)] for x in (0.2, 0.4, 0.6, 0.8)]
        super().__init__([(0, -0.25), (1, -0.25), (1, 0.25), (0, 0.25), (0, -0.25)], *bars)


def heater(*, american: bool) -> Element2Term:
    """Blanket: a resistor's zigzag of IEEE 315, or IEC 60617's heating element.

    american: which.
    """
    return ResistorIEEE() if american else HeaterIEC()


class Coil(_Body):
    """Coil of a relay or contactor: IEEE 315's circle, or IEC 60617's box.

    american: which.
    """

    def __init__(self, *, american: bool) -> None:
        if american:
            super().__init__()
            self.segments.append(SegmentCircle((0.5, 0), 0.5))
        else:
            super().__init__(
                [(0, 0), (0.25, 0)],
                [(0.75, 0), (1, 0)],
                [(0.25, -0.45), (0.75, -0.45), (0.75, 0.45), (0.25, 0.45), (0.25, -0.45)],
            )


class SolidState(_Body):
    """Zero-cross solid-state relay: a box with a triac; its control terminals are drawn beside it."""

    def __init__(self) -> None:
        super().__init__(
            [(-0.1, -0.55), (1.1, -0.55), (1.1, 0.55), (-0.1, 0.55), (-0.1, -0.55)],
            [(0, 0), (0.36, 0)],
            [(0.64, 0), (1, 0)],
            [(0.36, -0.3), (0.36, 0.3)],
            [(0.64, -0.3), (0.64, 0.3)],
            [(0.36, -0.3), (0.36, 0), (0.64, -0.15), (0.36, -0.3)],
            [(0.64, 0.3), (0.64, 0), (0.36, 0.15), (0.64, 0.3)],
            [(0.64, -0.3), (0.86, -0.5)],
        )


class CutOff(_Body):
    """Thermal cut-off: a contact closed at rest, with a heat-worked part beside it.

    american: IEEE 315, else IEC 60617.
    """

    def __init__(self, *, american: bool) -> None:
        super().__init__(*_contact(american=american, closed=True))
        self.segments += [
            Segment([(0.5, -0.34), (0.5, -0.62)], ls=":"),
            Segment([(0.3, -0.62), (0.7, -0.62), (0.7, -1.02), (0.3, -1.02), (0.3, -0.62)]),
            Segment([(0.38, -0.7), (0.5, -0.7), (0.5, -0.94), (0.62, -0.94)]),
        ]


class Stop(_Body):
    """Emergency stop: a contact closed at rest, mushroom head, latching.

    american: IEEE 315, else IEC 60617.
    """

    def __init__(self, *, american: bool) -> None:
        super().__init__(*_contact(american=american, closed=True))
        self.segments += [
            Segment([(0.5, -0.2 if not american else -0.3), (0.5, -0.8)], ls=":"),
            Segment([(0.3, -0.8), (0.7, -0.8)]),
            SegmentArc((0.5, -0.8), 0.4, 0.36, theta1=180, theta2=360),
            Segment([(0.42, -0.5), (0.5, -0.62), (0.58, -0.5)]),
        ]


class Button(_Body):
    """Push button, open at rest.

    american: IEEE 315, else IEC 60617.
    """

    def __init__(self, *, american: bool) -> None:
        if american:
            super().__init__([(0, 0), (0.12, 0)], [(0.88, 0), (1, 0)], [(0.05, -0.3), (0.95, -0.3)])
            self.segments += [SegmentCircle((0.18, 0), 0.06), SegmentCircle((0.82, 0), 0.06)]
            self.segments.append(Segment([(0.5, -0.3), (0.5, -0.6)]))
        else:
            super().__init__(*_contact(american=False, closed=False))
            self.segments.append(Segment([(0.5, -0.2), (0.5, -0.6)], ls=":"))
        self.segments.append(Segment([(0.35, -0.6), (0.65, -0.6)]))


class Diode(_Body):
    """Diode, pointing along its way."""

    def __init__(self) -> None:
        super().__init__(
            [(0, 0), (0.32, 0)],
            [(0.62, 0), (1, 0)],
            [(0.32, -0.2), (0.32, 0.2), (0.62, 0), (0.32, -0.2)],
            [(0.62, -0.2), (0.62, 0.2)],
        )


class Suppressor(_Body):
    """Breakdown diode of both directions, for the voltage peak of a coil."""

    def __init__(self) -> None:
        super().__init__(
            [(0, 0), (0.22, 0)],
            [(0.78, 0), (1, 0)],
            [(0.22, -0.2), (0.22, 0.2), (0.5, 0), (0.22, -0.2)],
            [(0.78, -0.2), (0.78, 0.2), (0.5, 0), (0.78, -0.2)],
            [(0.4, -0.28), (0.5, -0.2), (0.5, 0.2), (0.6, 0.28)],
        )


class Capacitor(_Body):
    """Capacitor, not polarised."""

    def __init__(self) -> None:
        super().__init__(
            [(0, 0), (0.43, 0)],
            [(0.57, 0), (1, 0)],
            [(0.43, -0.22), (0.43, 0.22)],
            [(0.57, -0.22), (0.57, 0.22)],
        )


class Shape(Element):
    """Any symbol with one place: paths and circles about its origin.

    paths: lines. circles: centre and radius of each. filled: closed paths that are black. dotted: lines of
    dots.
    """

    def __init__(
        self,
        *paths: Path,
        circles: Sequence[tuple[tuple[float, float], float]] = (),
        filled: Sequence[Path] = (),
        dotted: Sequence[Path] = (),
    ) -> None:
        super().__init__()
        self.segments += [Segment(path) for path in paths]
        self.segments += [Segment(path, ls=":") for path in dotted]
        self.segments += [SegmentCircle(centre, radius) for centre, radius in circles]
        self.segments += [SegmentPoly(path, fill="black") for path in filled]


def protective_earth() -> Shape:
    """Protective earth, IEC 60417-5019: an earth in a circle, its lead upwards."""
    return Shape(
        [(0, 0), (0, -0.45)],
        [(-0.3, -0.45), (0.3, -0.45)],
        [(-0.2, -0.57), (0.2, -0.57)],
        [(-0.1, -0.69), (0.1, -0.69)],
        circles=[((0, -0.5), 0.42)],
    )


def zero_volts() -> Shape:
    """0 V of the low-voltage side: a bar, its lead upwards."""
    return Shape([(0, 0), (0, -0.25)], [(-0.22, -0.25), (0.22, -0.25)])


def transistor() -> Shape:
    """Enhancement MOSFET, n-channel: gate at the origin, drain at (0.7, 0.6), source at (0.7, -0.6)."""
    return Shape(
        [(0, 0), (0.3, 0)],
        [(0.3, -0.28), (0.3, 0.28)],
        [(0.4, 0.18), (0.4, 0.36)],
        [(0.4, -0.09), (0.4, 0.09)],
        [(0.4, -0.18), (0.4, -0.36)],
        [(0.4, 0.27), (0.7, 0.27), (0.7, 0.6)],
        [(0.4, -0.27), (0.7, -0.27), (0.7, -0.6)],
        [(0.4, 0), (0.7, 0), (0.7, -0.27)],
        filled=[[(0.4, 0), (0.54, 0.08), (0.54, -0.08)]],
        circles=[((0.45, 0), 0.55)],
    )
