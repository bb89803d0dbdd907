"""Labels side by side in lanes, so that none touches another."""

from collections.abc import Iterable


def lanes(labels: Iterable[tuple[float, float, float]], most: int) -> list[int | None]:
    """A lane for each label, counted from the top, so that no label touches another or a stem.

    labels: place of the stem, which runs down from its label, and the label's left and right end, one
    unit for all. most: number of lanes. None stands for a label that fits in no lane.

    >>> lanes([(0, 0, 5), (3, 3, 8), (9, 9, 12)], 2)
    [0, 1, 0]
    """
    placed: list[tuple[int, float, float, float]] = []
    chosen: list[int | None] = []
    for stem, left, right in labels:
        free = [
            lane
            for lane in range(most)
            if not any(
                (other == lane and left < end and start < right)
                or (other > lane and start < stem < end)
                or (other < lane and left < foot < right)
                for other, foot, start, end in placed
            )
        ]
        chosen.append(free[0] if free else None)
        if free:
            placed.append((free[0], stem, left, right))
    return chosen
