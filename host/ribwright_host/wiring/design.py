"""A rig file and what it does not hold, sized: one plan that the drawings, the parts and the page share."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ribwright_board.core.rig_values import Rig
from ribwright_board.core.units import FIRMWARE_CEILING_C
from ribwright_host.rigs import RigFile

from . import load, protection, refusal, switching, tables
from .facts import Fact
from .pinout import BoardPin, board_pins
from .tables import Conductor, Series


@dataclass(frozen=True)
class Site:
    """What the rig file does not hold; each has a default, and all are printed on the page.

    practice: "us" or "iec", which symbols and sizes; None: us up to 150 V. breaker_a: of the branch, None for
    the size that branch_limit_a implies. label_volts: on the blankets, V; None for the mains. blanket_c: the
    blankets' own temperature rating, C. cord_m, lead_m: length of the supply cord and of each blanket's lead,
    one way, m. shop_c: hottest air in the shop, C. box_c: air inside the enclosure, C. lead_c: hottest
    surroundings of a blanket's lead, C.
    """

    practice: str | None = None
    breaker_a: float | None = None
    label_volts: float | None = None
    blanket_c: float = 230.0
    cord_m: float = 3.0
    lead_m: float = 1.5
    shop_c: float = 30.0
    box_c: float = 40.0
    lead_c: float = 120.0


@dataclass(frozen=True)
class ZonePlan:
    """One blanket, sized.

    number: from 1. name: its word. switched: it has a relay. mechanical: of contacts. power_w, amperes: at
    the mains, W and A. fuse_a: A. lead: its conductor. insulation: of that. relay_a: of its switch, A.
    sink_k_w: heat-sink, K/W; 0 without. cut_off_c: of its cut-off, C. facts: how each came about.
    """

    number: int
    name: str
    switched: bool
    mechanical: bool
    power_w: float
    amperes: float
    fuse_a: float
    lead: Conductor
    insulation: str
    relay_a: float
    sink_k_w: float
    cut_off_c: float
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class Plan:
    """Everything that is drawn and listed.

    rig: the file. site: as asked. american: symbols and sizes. two_hot: no neutral, both poles are live.
    volts: mains, V. zones: every zone. heated: those with a relay. pins: of the board. breaker_a: of the
    branch, A. cord: supply cord. contactor_a: A. supply_w: of 24 V. feedback: a pin watches the contactor.
    facts: of the whole rig. warnings: sentences.
    """

    rig: RigFile
    site: Site
    american: bool
    two_hot: bool
    volts: float
    zones: tuple[ZonePlan, ...]
    pins: tuple[BoardPin, ...]
    breaker_a: float
    cord: Conductor
    contactor_a: float
    supply_w: float
    feedback: bool
    facts: tuple[Fact, ...]
    warnings: tuple[str, ...] = field(default=())

    @property
    def heated(self) -> list[ZonePlan]:
        """The zones that have a relay."""
        return [zone for zone in self.zones if zone.switched]

    @property
    def board(self) -> str:
        """Kind of board."""
        return str(self.rig.mapping["board"])


def is_american(volts: float, practice: str | None) -> bool:
    """Whether sizes and symbols are those of North America.

    volts: mains, V. practice: as asked, None to go by the voltage.
    """
    return volts <= 150 if practice is None else practice == "us"


def plan(rig: RigFile, site: Site) -> Plan:
    """Size a rig.

    rig: a checked file. site: what it does not hold.
    Raises FileError where a branch would be overloaded, a part cannot be had, or a pin cannot be used.
    """
    where, mapping = str(rig.path), rig.mapping
    volts = float(mapping["mains"]["volts"])
    american = is_american(volts, site.practice)
    pins = board_pins(mapping, where)
    label_volts = site.label_volts or volts
    refusal.check_label(where, volts, label_volts)
    zones = tuple(
        _zone(where, number, values, rig.rig, site, american=american, volts=volts, label_volts=label_volts)
        for number, values in enumerate(mapping["zones"], 1)
    )
    heated = [zone for zone in zones if zone.switched]
    currents = [zone.amperes for zone in heated]
    limit_a = rig.rig.branch_limit_a
    breaker_a, breaker_fact = _breaker(where, limit_a, currents, site, volts=volts, american=american)
    receptacle = protection.receptacle(breaker_a, american=american)
    refusal.check_branch(where, limit_a, breaker_a, receptacle.value, currents, volts)
    cords = tables.US_CORDS if american else tables.IEC_CORDS
    cord = refusal.need_cord(
        where, protection.conductor(breaker_a, cords, tables.PVC_60, site.shop_c), breaker_a, site.shop_c
    )
    master = switching.contactor(sum(currents) or limit_a)
    most_a = min(sum(currents) or limit_a, limit_a)
    control = switching.control_supply(
        sum(zone.mechanical for zone in heated), sum(not zone.mechanical for zone in heated)
    )
    share, residual = (
        load.interleaved_share(currents, limit_a),
        protection.residual_current(american=american),
    )
    facts: tuple[Fact, ...] = (
        breaker_fact,
        receptacle,
        share,
        residual,
        protection.leakage([zone.power_w for zone in heated]),
        master,
        control,
        load.element_tolerance(),
        protection.drop(cord, most_a, site.cord_m, volts),
        protection.earth_bond(),
    )
    if not heated:
        # What blankets draw goes by other wires; here is the supply of a board.
        facts = (breaker_fact, residual, control, protection.earth_bond())
    return Plan(
        rig=rig,
        site=site,
        american=american,
        two_hot=american and volts > 150,
        volts=volts,
        zones=zones,
        pins=tuple(pins),
        breaker_a=breaker_a,
        cord=cord,
        contactor_a=master.value,
        supply_w=control.value,
        feedback=rig.rig.feedback,
        facts=facts,
        warnings=tuple(refusal.warnings(volts, label_volts, zones, rig.rig, share)),
    )


def _breaker(
    where: str, limit_a: float, currents: list[float], site: Site, *, volts: float, american: bool
) -> tuple[float, Fact]:
    series: Series = tables.US_BREAKERS if american else tables.IEC_BREAKERS
    implied = protection.breaker(limit_a, series, 15.0 if american else 16.0)
    if site.breaker_a is not None:
        rule = "as stated with --breaker-a"
        return site.breaker_a, Fact("branch breaker", site.breaker_a, "A", rule, "command line", "our choice")
    if implied is None:
        raise refusal.no_breaker(where, limit_a, series.sizes[-1], currents, volts)
    return implied.value, implied


def _zone(
    where: str,
    number: int,
    values: Mapping[str, Any],
    rig: Rig,
    site: Site,
    *,
    american: bool,
    volts: float,
    label_volts: float,
) -> ZonePlan:
    """One blanket, sized; its power is that of the label, at the label's voltage."""
    if "relay_pin" not in values:
        sizes = tables.US_CORDS if american else tables.IEC_CORDS
        return ZonePlan(
            number,
            str(values["name"]),
            switched=False,
            mechanical=False,
            power_w=0,
            amperes=0,
            fuse_a=0,
            lead=sizes[0],
            insulation="",
            relay_a=0,
            sink_k_w=0,
            cut_off_c=0,
            facts=(),
        )
    label_w = float(values["power_w"])
    power_w = label_w * load.wrong_mains(volts, label_volts).value
    amperes = power_w / volts
    series = tables.US_FUSES if american else tables.IEC_FUSES
    fuse = refusal.need_fuse(where, number, protection.fuse(amperes, series), amperes, series.sizes[-1])
    lead, insulation, carries = refusal.need_lead(
        where, number, fuse.value, tables.US_CORDS if american else tables.IEC_CORDS, site.lead_c
    )
    ceiling_c = rig.zones[number - 1].ceiling_c
    link = refusal.need_cut_off(
        where,
        number,
        protection.cut_off(FIRMWARE_CEILING_C, ceiling_c, site.blanket_c),
        site.blanket_c,
    )
    mechanical = values.get("relay") == "mechanical"
    facts = [
        load.resistance(label_w, label_volts),
        load.current(power_w, volts),
        load.current_high(power_w, volts),
        load.power_high(power_w),
        load.power_low(power_w),
        load.continuous(amperes),
        fuse,
        carries,
        protection.drop(lead, amperes, site.lead_m, volts),
        link,
        protection.holding(link.value),
    ]
    relay_a, sink = 0.0, 0.0
    if mechanical:
        relay = switching.mechanical(amperes)
        relay_a = relay.value
        facts.append(relay)
        if "relay_operations" in values:
            facts.append(switching.life_hours(float(values["relay_operations"]), rig.window_ms))
    else:
        relay = switching.solid_state(amperes)
        heat = switching.dissipation(amperes * load.MAINS_HIGH)
        allowed = refusal.need_sink(where, number, switching.heat_sink(heat.value, site.box_c), site.box_c)
        to_buy = switching.sink_to_buy(allowed.value)
        relay_a, sink = relay.value, to_buy.value
        by_junction = switching.heat_sink_by_junction(heat.value, site.box_c)
        facts += [relay, heat, allowed, by_junction, to_buy]
    return ZonePlan(
        number,
        str(values["name"]),
        switched=True,
        mechanical=mechanical,
        power_w=power_w,
        amperes=amperes,
        fuse_a=fuse.value,
        lead=lead,
        insulation=insulation,
        relay_a=relay_a,
        sink_k_w=sink,
        cut_off_c=link.value,
        facts=tuple(facts),
    )
