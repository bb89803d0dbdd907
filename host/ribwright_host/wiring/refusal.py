"""What is refused before anything is drawn, and what is only warned of; each says what would fit."""

from collections.abc import Sequence
from typing import Protocol

from ribwright_board.core.rig_values import Rig, Zone
from ribwright_host.errors import FileError

from . import load, protection, tables
from .facts import Fact, number
from .tables import Conductor

# Supply voltages differ by so much from the one on a label, and it is still the same mains.
LABEL_BAND = 0.11
# A thinner lead breaks where it is bent day by day; our choice.
THINNEST_MM2 = 0.75
# Sink and joint of a large finned sink without a fan; an estimate.
BEST_SINK_K_W = 0.5


class Protected(Protocol):
    """A planned zone, as far as it matters here: cut_off_c of its cut-off, C; 0 without."""

    @property
    def cut_off_c(self) -> float:
        """Rated temperature of its cut-off, C; 0 where it has none."""


def check_label(where: str, volts: float, label_volts: float) -> None:
    """Refuse blankets made for other mains.

    where: the file. volts: at the wall, V. label_volts: on the label, V. Raises FileError, code wrong_mains.
    """
    if abs(volts / label_volts - 1) <= LABEL_BAND:
        return
    times = load.wrong_mains(volts, label_volts).value
    raise FileError(
        f"{where}: blankets for {label_volts:g} V on {volts:g} V mains take {times:.2f} times their power, "
        "the limit is 1.21 times (mains 10 % high)",
        "use blankets whose label states the voltage at the wall",
        code="wrong_mains",
        where={"file": where, "key": "mains.volts"},
    )


def no_breaker(
    where: str, limit_a: float, largest_a: float, currents: Sequence[float], volts: float
) -> FileError:
    """The error for a branch that no breaker of the table serves.

    where: the file. limit_a: of the rig, A. largest_a: breaker, A. currents: of the blankets, A. volts: V.
    """
    return FileError(
        f"{where}: mains.branch_limit_a is {limit_a:g} A, the largest breaker listed is {largest_a:g} A, "
        f"which carries {0.8 * largest_a:g} A for long",
        f"lower branch_limit_a to {0.8 * largest_a:g}; " + would_fit(currents, 0.8 * largest_a, volts),
        code="branch",
        where={"file": where, "key": "mains.branch_limit_a"},
    )


def check_branch(
    where: str, limit_a: float, breaker_a: float, most_a: float, currents: Sequence[float], volts: float
) -> None:
    """Refuse a rig that may draw more than its branch carries.

    where: the file. limit_a: most the rig draws at one moment, A. breaker_a: of the branch, A. most_a: that
    plugged-in load may draw from it, A. currents: of the blankets, A. volts: V.
    Raises FileError, code branch.
    """
    if limit_a <= most_a + 1e-9 and max(currents, default=0.0) <= limit_a * (1 + LABEL_BAND):
        return
    raise FileError(
        f"{where}: mains.branch_limit_a is {limit_a:g} A, "
        f"a branch with a {breaker_a:g} A breaker may carry {most_a:g} A of plugged-in load",
        would_fit(currents, most_a, volts),
        code="branch",
        where={"file": where, "key": "mains.branch_limit_a", "breaker_a": breaker_a},
    )


def would_fit(currents: Sequence[float], most_a: float, volts: float) -> str:
    """What would fit on a branch, as a next step.

    currents: of the blankets, A. most_a: the branch carries, A. volts: V.
    """
    largest = max(currents, default=0.0)
    if largest > most_a:
        words = f"no blanket may be above {number(most_a * volts)} W here; use a smaller one, "
        return words + "a circuit with a larger breaker, or blankets for a higher voltage"
    if sum(currents) > most_a:
        return (
            f"set branch_limit_a to {number(most_a)}: the board then interleaves the blankets, "
            f"or use blankets of {number(most_a * volts)} W together, a larger circuit or a higher voltage"
        )
    return f"set branch_limit_a to {number(most_a)}: all blankets together draw {number(sum(currents))} A"


def need_cord(where: str, cord: Conductor | None, breaker_a: float, shop_c: float) -> Conductor:
    """The supply cord, or a refusal.

    where: the file. cord: as found. breaker_a: it must carry, A. shop_c: air, C.
    Raises FileError, code conductor.
    """
    if cord is not None:
        return cord
    raise FileError(
        f"{where}: no flexible cord of the table carries the {breaker_a:g} A of the breaker at {shop_c:g} C",
        "lower mains.branch_limit_a, use a higher voltage, or have it wired in by an electrician",
        code="conductor",
        where={"file": where, "key": "mains.branch_limit_a"},
    )


def need_fuse(where: str, zone: int, fuse: Fact | None, amperes: float, largest_a: float) -> Fact:
    """The fuse of a blanket, or a refusal.

    where: the file. zone: number from 1. fuse: as found. amperes: of the blanket, A. largest_a: sold, A.
    Raises FileError, code fuse.
    """
    if fuse is not None:
        return fuse
    raise FileError(
        f"{where}: zones[{zone - 1}].power_w draws {number(amperes)} A, "
        f"the largest fuse listed is {largest_a:g} A",
        "use a smaller blanket or two of them",
        code="fuse",
        where={"file": where, "key": f"zones[{zone - 1}].power_w"},
    )


def need_lead(
    where: str, zone: int, fuse_a: float, sizes: Sequence[Conductor], lead_c: float
) -> tuple[Conductor, str, Fact]:
    """Conductor, insulation and rating of a blanket's lead, or a refusal.

    where: the file. zone: number from 1. fuse_a: before it, A. sizes: to choose from. lead_c: its
    surroundings, C. Raises FileError, code conductor.
    """
    for insulation, kind in tables.HOT_TYPES:
        strong = [size for size in sizes if size.mm2 >= THINNEST_MM2]
        found = protection.conductor(fuse_a, strong, kind, lead_c)
        if found is not None:
            carries = protection.derated(found, kind, lead_c)
            if carries is not None:
                return found, insulation, carries
    raise FileError(
        f"{where}: zones[{zone - 1}]: no lead of the table carries its fuse of {fuse_a:g} A at {lead_c:g} C",
        "lead the wires out where it is cooler (--lead-c), or use a smaller blanket",
        code="conductor",
        where={"file": where, "key": f"zones[{zone - 1}].power_w"},
    )


def need_cut_off(where: str, zone: int, link: Fact | None, blanket_c: float) -> Fact:
    """The cut-off of a blanket, or a refusal.

    where: the file. zone: number from 1. link: as found. blanket_c: the blanket's rating, C.
    Raises FileError, code cut_off.
    """
    if link is not None:
        return link
    raise FileError(
        f"{where}: zones[{zone - 1}]: no cut-off lies 10 C above the firmware's 200 C and not above the "
        f"blanket's rating of {blanket_c:g} C",
        "use blankets rated for 216 C or more, and state their rating with --blanket-c",
        code="cut_off",
        where={"file": where, "key": f"zones[{zone - 1}]"},
    )


def need_sink(where: str, zone: int, allowed: Fact, box_c: float) -> Fact:
    """What a heat-sink may have, or a refusal where none is good enough.

    where: the file. zone: number from 1. allowed: sink and joint, K/W. box_c: air in the box, C.
    Raises FileError, code heat_sink.
    """
    if allowed.value >= BEST_SINK_K_W:
        return allowed
    raise FileError(
        f"{where}: zones[{zone - 1}]: its solid-state relay needs {number(allowed.value)} K/W from base to "
        f"air of {box_c:g} C, the least one can build is {BEST_SINK_K_W:g} K/W",
        "keep the air of the enclosure cooler (--box-c), or use a smaller blanket",
        code="heat_sink",
        where={"file": where, "key": f"zones[{zone - 1}].power_w"},
    )


def _hold_warning(name: str, hold_c: float, zone: Zone) -> str | None:
    if hold_c >= zone.ceiling_c:
        return None
    return (
        f"Zone {name}: the cut-off may be held at about {hold_c:g} C for long, the zone's ceiling is "
        f"{zone.ceiling_c:g} C. Mount it where it stays cooler, or lower the ceiling; else it opens with age."
    )


def warnings(
    volts: float, label_volts: float, zones: Sequence[Protected], rig: Rig, share: Fact
) -> list[str]:
    """Sentences that are printed first on the page.

    volts: mains, V. label_volts: on the blankets, V. zones: as planned. rig: as checked. share: of the time
    that each zone can have.
    """
    if not any(planned.cut_off_c for planned in zones):
        return []
    words = f"Every blanket must be labelled for {label_volts:g} V. One made for half the mains takes "
    found = [words + "four times its power here and burns."]
    if label_volts != volts:
        found.append(f"Currents and powers are those on {volts:g} V of blankets labelled {label_volts:g} V.")
    if share.value < 1:
        total_a = sum(zone.current_a for zone in rig.zones)
        found.append(
            f"All blankets at once would draw {number(total_a)} A, the branch limit is "
            f"{rig.branch_limit_a:g} A: the board switches them on in turns, and each has at most "
            f"{100 * share.value:.0f} % of the time while all ask. If that is too little for the bend, use "
            "two circuits, smaller blankets or a higher voltage."
        )
    for planned, zone in zip(zones, rig.zones, strict=True):
        if planned.cut_off_c:
            sentence = _hold_warning(zone.name, protection.holding(planned.cut_off_c).value, zone)
            found += [sentence] if sentence else []
    return found
