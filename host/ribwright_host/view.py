"""What a moment of the rig looks like to a person, in one line; screen.py draws it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ribwright_board.core import units
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.event_words import MEANINGS
from ribwright_board.core.units import TENTHS_MISSING

from .runrows import BELOW_K

# Modes in which a run is on.
ON = ("ready", "proving", "running", "paused")

# Events that are told with what to look at, because nothing else on the screen says it.
ADVISED = ("suspect", "refused", "zone_off")

# What follows the meaning of an event whose figures are whole numbers.
FIGURES = {
    "extend": ": {a} min more, {b} s of its longest time are left",
    "back_off": ": from stage {a} to stage {b}",
    "hold_warning": ", {a} s are left",
    "presence": ", {a} s are left",
    "interrupted": ": run {a}",
}

# No word of heat: what a rig that only watches has over it comes from elsewhere, and stays on.
MODE_WORDS = {
    "idle": "at rest, relays off",
    "ready": "ready, relays off",
    "proving": "looking itself over before it begins",
    "running": "bending",
    "paused": "paused, relays off",
    "tripped": "SHUT DOWN, relays off",
}


def mode_words(mode: object) -> str:
    """A mode as people are told it; one that is unknown as the board calls it.

    mode: the board's word.

    >>> mode_words("idle")
    'at rest, relays off'
    """
    return MODE_WORDS.get(str(mode), str(mode))


@dataclass(frozen=True)
class ZoneView:
    """One zone as shown; temperatures in C or None, duty 0-1, the estimate of the wood with its band in K."""

    name: str
    target_c: float | None
    measured_c: float | None
    duty: float
    relay_on: bool
    mid_wood_c: float | None = None
    band_k: float = 0.0

    @property
    def unheated(self) -> bool:
        """Whether it is below its target and gets no heat."""
        if self.target_c is None or self.measured_c is None:
            return False
        return self.measured_c < self.target_c - BELOW_K and not (self.duty or self.relay_on)


@dataclass(frozen=True)
class View:
    """One moment of the rig, as a status or a row tells it."""

    mode: str
    stage: int
    stages: int
    stage_kind: str
    run: int
    at_ms: int
    waiting: str
    cue: str
    trip: dict[str, Any] | None
    zones: tuple[ZoneView, ...]

    def state(self) -> tuple[Any, ...]:
        """What counts as a change worth a line."""
        trip = self.trip["code"] if self.trip else None
        return self.mode, self.stage, self.waiting, self.cue, trip


def _degrees_c(tenths: object) -> float | None:
    if not isinstance(tenths, int) or tenths == TENTHS_MISSING:
        return None
    return tenths / 10


def view_of(data: Mapping[str, Any], names: list[str]) -> View:
    """A moment from a status or a row.

    data: the values the board sent. names: of the zones.
    """
    zones = []
    mids = data.get("mids") or []
    for position, entry in enumerate(data.get("zones") or []):
        target, measured, duty, relay = entry
        name = names[position] if position < len(names) else f"zone {position + 1}"
        mid, band = mids[position] if position < len(mids) else (None, 0)
        seen = _degrees_c(target), _degrees_c(measured), duty / 1000, bool(relay)
        zones.append(ZoneView(name, *seen, _degrees_c(mid), band / 10))
    return View(
        mode=str(data.get("mode", "idle")),
        stage=int(data.get("stage") or 0),
        stages=int(data.get("stages") or 0),
        stage_kind=str(data.get("stage_kind") or ""),
        run=int(data.get("run") or 0),
        at_ms=int(data.get("ms") or 0),
        waiting=str(data.get("waiting") or ""),
        cue=str(data.get("cue") or ""),
        trip=data.get("trip") or None,
        zones=tuple(zones),
    )


def shown(temperature_c: float | None, unit: str) -> str:
    """A temperature for people, a dash for none.

    temperature_c: in C, or None. unit: "C" or "F".

    >>> shown(100.0, "F"), shown(None, "C")
    ('212 F', '-')
    """
    return "-" if temperature_c is None else f"{units.in_unit(temperature_c, unit):.0f} {unit}"


def moved_words(by_k: int, unit: str) -> str:
    """By how much a target is moved, in whole kelvin and in the maker's unit.

    by_k: K, up or down. unit: "C" or "F".

    >>> moved_words(3, "F"), moved_words(-2, "C")
    ('3 K (5.4 degrees F) up', '2 K down')
    """
    degrees = f" ({units.in_unit_difference(abs(by_k), unit):.1f} degrees F)" if unit == "F" else ""
    return f"{abs(by_k)} K{degrees} {'up' if by_k > 0 else 'down'}"


def estimate_words(mid_wood_c: float, band_k: float, unit: str) -> str:
    """The estimate of the wood's middle with its band.

    mid_wood_c: C. band_k: how far off it may be, K. unit: "C" or "F".

    >>> estimate_words(118.2, 8.0, "C"), estimate_words(118.2, 8.0, "F")
    ('about 118 C, give or take 8 K', 'about 245 F, give or take 14 degrees F')
    """
    band = f"{units.in_unit_difference(band_k, unit):.0f} {'K' if unit == 'C' else 'degrees F'}"
    if band_k % 1 and unit == "C":
        band = f"{band_k:.1f} K"
    return f"about {shown(mid_wood_c, unit)}, give or take {band}"


def asks_for(view: View) -> str:
    """What the rig waits for, in plain words; empty when it waits for nothing.

    view: a moment.
    """
    if view.trip:
        return trip_line(view.trip)
    if view.waiting == "presence":
        return "Are you there? Press any button AT THE RIG, or the heat ends within two minutes."
    if view.cue:
        return f"Now: {view.cue}. Then press next."
    if view.waiting == "start":
        return "Press the start button AT THE RIG when you are beside it."
    if view.waiting == "next":
        return "Press next when the wood is where you want it."
    return ""


def trip_line(trip: Mapping[str, Any]) -> str:
    """A trip in one line: the rig first, then the wood.

    trip: as the board tells it.
    """
    code = str(trip.get("code", "unknown"))
    text = str(trip.get("text") or f"{code}; {FAULTS[code][1] if code in FAULTS else 'look at the rig'}")
    return f"{text}. The wood: leave it clamped, do not force it."


def refusal_words(refused: Mapping[str, Any], names: list[str]) -> str:
    """Cause, place and figures of a start that was refused; empty when the board says nothing of it.

    refused: as the board tells it. names: of the zones.
    """
    if not refused.get("code"):
        return ""
    zone = refused.get("zone")
    where = names[zone] if isinstance(zone, int) and 0 <= zone < len(names) else "rig"
    unit = refused.get("unit")
    figures = f": seen {refused.get('seen'):.2f}, limit {refused.get('limit'):.2f} {unit}" if unit else ""
    return f"{refused['code']}, {where}{figures}"


def _wood_words(zone: ZoneView, unit: str) -> str:
    if zone.mid_wood_c is None:
        return ""
    return f", middle of the wood (estimate) {estimate_words(zone.mid_wood_c, zone.band_k, unit)}"


def plain_line(view: View, unit: str, *, simulated: bool) -> str:
    """The moment in one line.

    view: a moment. unit: "C" or "F". simulated: whether it is the virtual rig.
    """
    mark = "SIMULATED " if simulated else ""
    stage = (
        f", stage {view.stage} of {view.stages} ({view.stage_kind})" if view.mode in ON and view.stage else ""
    )
    zones = "; ".join(
        f"{zone.name} {shown(zone.measured_c, unit)} of {shown(zone.target_c, unit)}, heat {zone.duty:.0%}"
        + _wood_words(zone, unit)
        for zone in view.zones
    )
    wish = asks_for(view)
    return f"{mark}{mode_words(view.mode)}{stage}: {zones}" + (f" | {wish}" if wish else "")


def event_line(data: Mapping[str, Any], names: list[str], unit: str = "C") -> str:
    """An event in one line.

    data: as the board tells it. names: of the zones. unit: "C" or "F" to show.
    """
    code = str(data.get("code", "unknown"))
    zone = data.get("zone")
    where = f"{names[zone]}: " if isinstance(zone, int) and 0 <= zone < len(names) else ""
    # The meaning's first half is for people, what follows explains the two figures.
    meaning = MEANINGS[code].split("; a = ")[0] if code in MEANINGS else code
    said = str(data.get("text") or "")
    text = f" ({said.replace('_', ' ') if code == 'mark' else said})" if said else ""
    if code in ADVISED and data.get("text") in FAULTS:
        text += f"; {FAULTS[data['text']][1]}"
    return f"{where}{meaning}{_event_figures(code, data, unit)}{text}"


def _event_figures(code: str, data: Mapping[str, Any], unit: str) -> str:
    """The figures of the events that carry one a person wants to read."""
    a, b = data.get("a"), data.get("b")
    if code == "stage":
        target_c = _degrees_c(b)
        return f": {a}" + ("" if target_c is None else f", to {shown(target_c, unit)}")
    if code in ("arrived", "wood_hot", "wood_late"):
        return (" at " if code == "arrived" else ", about ") + shown(_degrees_c(a), unit)
    if code == "nudge" and isinstance(b, int):
        moved, degrees = units.in_unit_difference(b, unit), "K" if unit == "C" else "degrees F"
        return f" to {shown(_degrees_c(a), unit)}, {moved:+.0f} {degrees} from the profile's"
    return FIGURES.get(code, "").format(a=a, b=b)


def interrupted_line(status: Mapping[str, Any]) -> str:
    """What a reset or the mains cut off, in one line; empty when nothing was.

    status: as the board answers it.
    """
    run = status.get("interrupted")
    if not run:
        return ""
    return (
        f"Run {run} was cut off by a reset or by the mains and does not go on by itself. "
        f"Look at the wood; what was recorded: ribwright fetch {run}; its report says how to take it up"
    )
