"""What rows of the board show, as pure functions: steady or not, noisy or not, which zone has risen."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Any

from ribwright_board.core.units import TENTHS_MISSING

ROOM_S = 30
ROOM_SPREAD_K = 5.0  # zones among each other, and the person's own thermometer
NOISE_K = 1.0  # standard deviation over ROOM_S
HAND_RISE_K, OTHER_RISE_K, HAND_S = 3.0, 1.0, 30
HAND_BASE_S = 5
STEADY_S, STEADY_K = 20, 0.6  # means of the halves of so many seconds differ by less
# What a junction that lags by some seconds still has to go when it is told steady, it has gone by then.
STEADIED_S = 15
BOIL_LEAST_K = 30.0  # over where it began: it is in the water
BOIL_S = 240
ANSWER_S = 13  # seconds a zone's answer may take from the beginning of its pulse
BASE_ROWS = 4


@dataclass(frozen=True)
class Row:
    """One row told by the board: ms since its power-on, mode, per zone reading in C or None and duty 0-1."""

    ms: int
    mode: str
    temps_c: tuple[float | None, ...]
    duties: tuple[float, ...]


def row_of(data: Mapping[str, Any]) -> Row:
    """A row from a status or a row as told; data: its values."""
    zones = data.get("zones") or []
    measured = [zone[1] for zone in zones]
    return Row(
        int(data.get("ms") or 0),
        str(data.get("mode", "")),
        tuple(None if tenths in (None, TENTHS_MISSING) else tenths / 10 for tenths in measured),
        tuple(zone[2] / 1000 for zone in zones),
    )


def readings_c(rows: Sequence[Row], zone: int) -> list[float]:
    """What a zone read, C, without the seconds it read nothing; rows: in order. zone: position."""
    found = [row.temps_c[zone] for row in rows]
    return [each for each in found if each is not None]


def noise_k(readings: Sequence[float]) -> float:
    """Standard deviation, K, 0 for fewer than two; readings: of one zone."""
    return stdev(readings) if len(readings) > 1 else 0.0


def steady_c(rows: Sequence[Row], zone: int, from_c: float) -> float | None:
    """Where a reading stands that has left the room and moves no more, C; None while it does.

    rows: in order. zone: position. from_c: where it began.
    """
    last = readings_c(rows[-STEADY_S:], zone)
    if len(last) < STEADY_S:
        return None
    half = STEADY_S // 2
    moved_k = fmean(last[half:]) - fmean(last[:half])
    here_c = fmean(last)
    return here_c if abs(moved_k) < STEADY_K and abs(here_c - from_c) > BOIL_LEAST_K else None


def rises_k(base: Sequence[float], rows: Sequence[Row]) -> list[float]:
    """Per zone the mean of its last three rows over its base, K; base: C by zone. rows: in order."""
    risen = []
    for zone, base_c in enumerate(base):
        last = readings_c(rows[-3:], zone)
        risen.append(fmean(last) - base_c if last else 0.0)
    return risen


def switched(rows: Sequence[Row], names: Sequence[str]) -> list[str]:
    """What the board gave its relays during a proof, as zone names joined with +, each change once.

    rows: of the proof. names: of the zones.
    """
    found: list[str] = []
    for row in rows:
        on = "+".join(name for name, duty in zip(names, row.duties, strict=False) if duty > 0.0)
        if on and (not found or found[-1] != on):
            found.append(on)
    return found


def answers_k(rows: Sequence[Row], zones: int) -> list[float | None]:
    """Per zone how far it rose on its own pulse, K; None where it got none.

    rows: of the proof. zones: how many.
    """
    found: list[float | None] = []
    for zone in range(zones):
        alone = [at for at, row in enumerate(rows) if row.duties[zone] > 0.0 and sum(row.duties) < 1.0]
        if not alone:
            found.append(None)
            continue
        base = readings_c(rows[max(0, alone[0] - BASE_ROWS) : alone[0] + 1], zone)
        after = readings_c(rows[alone[0] : alone[0] + ANSWER_S], zone)
        # The mean of neighbours: one row alone has the converter's noise.
        best = [(after[n] + after[n + 1]) / 2 for n in range(len(after) - 1)]
        found.append(max(best) - fmean(base) if base and best else None)
    return found
