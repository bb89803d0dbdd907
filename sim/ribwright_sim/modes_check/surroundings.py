"""What can surround the rig in a stretch of time: what the converters say, where heat goes, what is stuck."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Surroundings:
    """One stretch of time around the rig. Zones that are not named are well.

    name: its words in paths. zone: whom the next two concern, -1 for all. shows: what the converter says:
    "" for the junction, "nothing" (no reading), "replayed" (dated long ago), "nan", "huge", "leap" (far off
    and staying there), "spikes" (one in two far off), "wild" (each one far off, and elsewhere), "frozen", or
    the code of a missing reading. heats: where heat of its relay goes: "" for its own blanket, "nowhere",
    "other", "backwards" (the wire is reversed), "fast", or "always" for heat without a relay. cold_k: error
    of the converter's own temperature.
    contactor: None as the alive signal says, else "closed" or "open" for ever. files: the board's files are
    whole. heat_s, rest_s: how long to wait for something to change, in modes that may heat and in others.
    """

    name: str
    zone: int = -1
    shows: str = ""
    heats: str = ""
    cold_k: float = 0.0
    contactor: str | None = None
    files: bool = True
    heat_s: float = 4.0
    rest_s: float = 4.0

    def shown(self, zone: int) -> str:
        """What a zone's converter says, as `shows`."""
        return self.shows if self.zone in (-1, zone) else ""

    def heated(self, zone: int) -> str:
        """Where the heat of a zone's relay goes, as `heats`."""
        return self.heats if self.zone in (-1, zone) else ""


WELL = Surroundings("all is well", heat_s=100.0, rest_s=4.0)

MISSING = ("open", "short_ground", "short_supply", "no_chip", "bus", "implausible")


def of_a_zone(zone: int, *, quick: bool) -> list[Surroundings]:
    """Everything that can be wrong with one zone; fewer things with another than zone 0, and where quick."""
    codes = MISSING[:1] if quick or zone else MISSING[:2]
    found = [Surroundings(f"zone {zone} {code}", zone, shows=code) for code in codes]
    found += [
        Surroundings(f"zone {zone} gives nothing new", zone, shows="nothing"),
        Surroundings(f"zone {zone} leaps and stays", zone, shows="leap"),
        Surroundings(f"zone {zone} heats without its relay", zone, heats="always", heat_s=40.0, rest_s=20.0),
        Surroundings(f"zone {zone} does not heat", zone, heats="nowhere", heat_s=60.0),
    ]
    if quick and zone:
        return found
    found += [
        Surroundings(f"zone {zone} reads anything", zone, shows="wild", heat_s=6.0),
        Surroundings(f"zone {zone} repeats its bits", zone, shows="frozen", heat_s=40.0),
    ]
    if quick:
        return found
    found += [
        Surroundings(f"zone {zone} falls as it heats", zone, heats="backwards", heat_s=40.0),
        Surroundings(f"zone {zone} heats too fast", zone, heats="fast", heat_s=40.0),
    ]
    if zone:
        return found
    return [
        *found,
        Surroundings(f"zone {zone} replays an old reading", zone, shows="replayed"),
        Surroundings(f"zone {zone} gives no number", zone, shows="nan"),
        Surroundings(f"zone {zone} is far out of range", zone, shows="huge"),
        Surroundings(f"zone {zone} has spikes", zone, shows="spikes", heat_s=15.0),
    ]


def of_the_rig(*, quick: bool) -> list[Surroundings]:
    """Everything that can be wrong with the rig as a whole; fewer things where quick."""
    found = [
        Surroundings("relays heat each other's blanket", heats="other", heat_s=40.0),
        Surroundings("contactor welded", contactor="closed", heat_s=10.0),
        Surroundings("contactor stays open", contactor="open", heat_s=60.0),
        Surroundings("files damaged", files=False, heat_s=10.0),
        Surroundings("no zone gives anything new", shows="nothing"),
    ]
    if not quick:
        found += [
            Surroundings("converters disagree about the box", 0, cold_k=15.0, heat_s=15.0),
            Surroundings("both zones open", shows="open"),
            Surroundings("contactor welded, zone 0 open", 0, shows="open", contactor="closed"),
        ]
    return found
