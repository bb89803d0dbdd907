"""What a run did to the wood, as a few sums that are stored, and its curves packed small."""

import zlib
from array import array
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from sys import byteorder

from ribwright_host.runlog import RunLog, weighted
from ribwright_host.runrows import LogRow

# A thermocouple at this reading or above counts as bending heat. PROPOSAL: makers bend at readings of 150 to
# 180 C (common practice, no source), and moist hardwood softens some 30 K below this (about 110 C at 12 %
# moisture by a proposed interpolation), which the middle of the wood lags the reading by at the least.
BENDING_HEAT_C = 140.0
CURVE_STEP_S = 5
MISSING_TENTHS = -32768
ENDINGS = ("done", "stop", "trip", "refused")


@dataclass(frozen=True)
class Sums:
    """Sums of a run or of one zone of it; None where nothing tells.

    heat_s: time at bending heat or above, s. peak_c: highest reading. energy_kwh: by relay time and rated
    power. set_c, set_s: mean reading in the set, and time of it within the stage's band. start_c: first
    reading, of what the thermocouple lies on.
    """

    heat_s: float | None = None
    peak_c: float | None = None
    energy_kwh: float | None = None
    set_c: float | None = None
    set_s: float | None = None
    start_c: float | None = None

    def as_fields(self) -> dict[str, float | None]:
        """The sums by the names of their columns."""
        return asdict(self)


def _mean(pairs: Sequence[tuple[float, float]]) -> float | None:
    """Mean of values by their weights; None without any."""
    total = sum(weight for _, weight in pairs)
    return sum(value * weight for value, weight in pairs) / total if total else None


def _heat_s(zones: Sequence[int], rows: Sequence[tuple[LogRow, float]]) -> float | None:
    """Time at which any of some zones read bending heat, s; None where none of them ever read."""
    read = False
    heat_s = 0.0
    for row, step_s in rows:
        seen = [row.zones[zone].measured_c for zone in zones]
        known = [value for value in seen if value is not None]
        read = read or bool(known)
        if known and max(known) >= BENDING_HEAT_C:
            heat_s += step_s
    return heat_s if read else None


def _zone_sums(run: RunLog, zone: int, rows: Sequence[tuple[LogRow, float]]) -> Sums:
    """Sums of one zone. A set counts where its stage heats the zone."""
    stages = run.stages()
    readings: list[float] = []
    in_set: list[tuple[float, float]] = []
    within_s = 0.0
    for row, step_s in rows:
        seen = row.zones[zone]
        if seen.measured_c is None:
            continue
        readings.append(seen.measured_c)
        stage = stages[row.stage] if row.stage < len(stages) else None
        if stage is None or stage.kind != "set" or row.mode != "running":
            continue
        if zone not in stage.zones or seen.target_c is None:
            continue
        if stage.band_k is None or abs(seen.measured_c - seen.target_c) <= stage.band_k + 1e-9:
            within_s += step_s
            in_set.append((seen.measured_c, step_s))
    power_w = run.power_w.get(run.zones[zone])
    on_s = sum(row.zones[zone].relay_on_ms for row, _ in rows) / 1000
    return Sums(
        heat_s=_heat_s([zone], rows),
        peak_c=max(readings, default=None),
        energy_kwh=None if power_w is None or run.watched else on_s * power_w / 3.6e6,
        set_c=_mean(in_set),
        set_s=within_s if in_set else None,
        start_c=readings[0] if readings else None,
    )


def run_sums(run: RunLog) -> tuple[Sums, list[Sums]]:
    """Sums of a whole run, and of each of its zones.

    run: as read. The run's heat is that of the hottest zone at each second, its set the longest of its zones,
    its energy known only where that of every zone is.
    """
    start_ms = max(0, run.rows[0].at_ms - 1000) if run.rows else 0
    rows = [(row, step_ms / 1000) for row, step_ms in weighted(run.rows, start_ms)]
    zones = [_zone_sums(run, zone, rows) for zone in range(len(run.zones))]
    energies = [zone.energy_kwh for zone in zones]
    known = [energy for energy in energies if energy is not None]
    sets = [(zone.set_c, zone.set_s) for zone in zones if zone.set_c is not None and zone.set_s is not None]
    starts = [(zone.start_c, 1.0) for zone in zones if zone.start_c is not None]
    whole = Sums(
        heat_s=_heat_s(range(len(run.zones)), rows),
        peak_c=max((zone.peak_c for zone in zones if zone.peak_c is not None), default=None),
        energy_kwh=sum(known) if known and len(known) == len(energies) else None,
        set_c=_mean(sets),
        set_s=max((seconds for _, seconds in sets), default=None),
        start_c=_mean(starts),
    )
    return whole, zones


def side_sums(runs: Sequence[Sums]) -> Sums:
    """Sums of a side over its runs, the oldest first: heat, energy and set add up, the peak is the highest,
    the start that of the first run.

    runs: of each run.
    """
    heats = [run.heat_s for run in runs if run.heat_s is not None]
    energies = [run.energy_kwh for run in runs]
    known = [energy for energy in energies if energy is not None]
    sets = [(run.set_c, run.set_s) for run in runs if run.set_c is not None and run.set_s is not None]
    return Sums(
        heat_s=sum(heats) if heats else None,
        peak_c=max((run.peak_c for run in runs if run.peak_c is not None), default=None),
        energy_kwh=sum(known) if known and len(known) == len(energies) else None,
        set_c=_mean(sets),
        set_s=sum(seconds for _, seconds in sets) if sets else None,
        start_c=runs[0].start_c if runs else None,
    )


def curve(run: RunLog, zone: int) -> list[float | None]:
    """What a zone read every CURVE_STEP_S from the first second that ran, C; None where nothing was read.

    run: as read. zone: position.
    """
    first_ms = next((row.at_ms for row in run.rows if row.mode == "running"), None)
    if first_ms is None:
        return []
    values: list[float | None] = []
    for row in run.rows:
        at = (row.at_ms - first_ms) // (1000 * CURVE_STEP_S)
        if at < 0:
            continue
        while len(values) <= at:
            values.append(None)
        if values[at] is None:
            values[at] = row.zones[zone].measured_c
    return values


def pack(values: Sequence[float | None]) -> bytes:
    """Temperatures as bytes: tenths of a degree C in 16 bit, little endian, compressed.

    values: C, or None.
    """
    tenths = array("h", (MISSING_TENTHS if v is None else round(v * 10) for v in values))
    if byteorder == "big":
        tenths.byteswap()
    return zlib.compress(tenths.tobytes(), 6)


def unpack(packed: bytes) -> list[float | None]:
    """Temperatures from bytes, as pack() made them.

    packed: the bytes. Raises ValueError or zlib.error for other bytes.

    >>> unpack(pack([20.0, None, 150.3]))
    [20.0, None, 150.3]
    """
    tenths = array("h")
    tenths.frombytes(zlib.decompress(packed))
    if byteorder == "big":
        tenths.byteswap()
    return [None if value == MISSING_TENTHS else value / 10 for value in tenths]
