"""Every kind of mistake in a rig is found, named and placed."""

from board.samples import bench_rig, drop, gains_mapping, near, put, refused, rig_mapping, zone_mapping
from ribwright_board.core import rig
from ribwright_board.core.errors import CheckError
from ribwright_board.core.gains import gains_for


def gains(key, value):
    """A change that gives the first zone gains, one of them wrong; None removes it."""

    def change(values):
        found = gains_mapping()
        if value is None:
            del found[key]
        else:
            found[key] = value
        values["zones"][0]["gains"] = found

    return change


def watched(*which):
    """A change that takes these zones' relays away."""

    def change(values):
        for zone in which:
            values["zones"][zone]["relay"] = "none"
            del values["zones"][zone]["relay_pin"]

    return change


OFFSET_K = ("zones", 0, "offset", "reads_high_by_k")


def offset(**change):
    """A zone's offset with some keys changed, None for one that is left out."""

    def apply(values):
        found = {"reads_high_by": 1.5, "date": "2026-05-02"}
        found.update(change)
        values["zones"][0]["offset"] = {key: found[key] for key in found if found[key] is not None}

    return apply


def wood(key, value):
    """A change that calibrates the first zone's estimate, with one key other than it should be."""

    def change(values):
        found = {"resistance": 0.0062, "loss": 9.5, "escape_s": 55}
        found[key] = value
        values["zones"][0]["wood"] = {name: found[name] for name in found if found[name] is not None}

    return change


def fit(key, value):
    """A change that gives the rig what a fit found, one part of it wrong; None removes it."""

    def change(values):
        found = {
            "for_rig": "0123456789ab",
            "fitted_by": "ribwright 0.1.0",
            "runs": ["run 7, 2026-01-01"],
            "values": {"loss": 1.1},
            "sigmas": {"loss": 0.1},
        }
        if value is None:
            del found[key]
        else:
            found[key] = value
        values["fit"] = found

    return change


def panel(key, value):
    """A change that gives the rig a whole panel, one part of it wrong; None removes it."""

    def change(values):
        found = {"display": "SSD1306", "sda": 14, "scl": 15, "knob_a": 16, "knob_b": 17, "buzzer": 18}
        found["buzzer_type"], found["knob_push"] = "passive", 19
        found[key] = value
        values["panel"] = {name: found[name] for name in found if found[name] is not None}

    return change


def push_alone(part):
    """A change that gives the rig a push switch beside a display or a knob alone."""
    beside = {"display": {"display": "SSD1306", "sda": 14, "scl": 15}, "knob": {"knob_a": 16, "knob_b": 17}}
    return put("panel", dict(beside[part], knob_push=19))


def problems_of(change):
    values = rig_mapping()
    change(values)
    return rig.check(values)


MISTAKES = (
    ("schema missing", drop("schema"), "schema", ("schema",)),
    ("schema of the future", put("schema", 99), "schema", ("schema",)),
    ("unit missing", drop("unit"), "missing_unit", ("unit",)),
    ("unit doubled", put("unit", ["C", "F"]), "doubled_unit", ("unit",)),
    ("unit unknown", put("unit", "celsius"), "unit", ("unit",)),
    ("name missing", drop("name"), "missing", ("name",)),
    ("board unknown", put("board", "laptop"), "choice", ("board",)),
    ("board missing", drop("board"), "missing", ("board",)),
    ("unknown key", put("colour", "red"), "unknown_key", ("colour",)),
    ("mains missing", drop("mains"), "not_a_table", ("mains",)),
    ("volts of a battery", put("mains", "volts", 12), "range", ("mains", "volts")),
    ("volts as text", put("mains", "volts", "120"), "not_a_number", ("mains", "volts")),
    ("hertz true", put("mains", "hertz", True), "not_a_number", ("mains", "hertz")),
    ("hertz between", put("mains", "hertz", 55), "range", ("mains", "hertz")),
    ("hertz a fraction", put("mains", "hertz", 50.5), "not_whole", ("mains", "hertz")),
    ("branch without limit", drop("mains", "branch_limit_a"), "missing", ("mains", "branch_limit_a")),
    ("branch of a village", put("mains", "branch_limit_a", 100), "range", ("mains", "branch_limit_a")),
    ("unknown key of mains", put("mains", "phase", 3), "unknown_key", ("mains", "phase")),
    ("window too short", put("control", {"window_ms": 100}), "range", ("control", "window_ms")),
    ("window off the grid", put("control", {"window_ms": 1050}), "range", ("control", "window_ms")),
    ("window a fraction", put("control", {"window_ms": 1000.5}), "not_whole", ("control", "window_ms")),
    ("control a number", put("control", 5), "not_a_table", ("control",)),
    ("pins missing", drop("pins"), "not_a_table", ("pins",)),
    ("pin missing", drop("pins", "alive"), "missing", ("pins", "alive")),
    ("pin of no board", put("pins", "alive", 49), "range", ("pins", "alive")),
    ("pin a fraction", put("pins", "alive", 5.5), "not_whole", ("pins", "alive")),
    ("pin used twice", put("pins", "stop", 7), "pin_twice", ("pins", "stop")),
    ("relay on a button", put("zones", 0, "relay_pin", 6), "pin_twice", ("zones", 0, "relay_pin")),
    ("two zones on a pin", put("zones", 1, "select_pin", 20), "pin_twice", ("zones", 1, "select_pin")),
    ("zones missing", drop("zones"), "zones", ("zones",)),
    ("no zones", put("zones", []), "zones", ("zones",)),
    ("five zones", put("zones", [zone_mapping("z%d" % i, i) for i in range(5)]), "zones", ("zones",)),
    ("zone a number", put("zones", 0, 5), "not_a_table", ("zones", 0)),
    ("zone without a name", drop("zones", 0, "name"), "missing", ("zones", 0, "name")),
    ("zones of one name", put("zones", 1, "name", "waist"), "zone_twice", ("zones", 1, "name")),
    ("power of nothing", put("zones", 0, "power_w", 0), "range", ("zones", 0, "power_w")),
    ("power not a number", put("zones", 0, "power_w", float("nan")), "not_a_number", ("zones", 0, "power_w")),
    ("blanket over the branch", put("zones", 0, "power_w", 1500), "branch", ("zones", 0, "power_w")),
    ("one zone without a relay", watched(0), "mixed", ("zones", 1, "relay")),
    ("the other without one", watched(1), "mixed", ("zones", 1, "relay")),
    (
        "a relay's pin without a relay",
        put("zones", 0, "relay", "none"),
        "unknown_key",
        ("zones", 0, "relay_pin"),
    ),
    ("relay of another kind", put("zones", 0, "relay", "solid"), "choice", ("zones", 0, "relay")),
    ("chip unknown", put("zones", 0, "chip", "MAX0000"), "choice", ("zones", 0, "chip")),
    ("thermocouple unknown", put("zones", 0, "thermocouple", "S"), "choice", ("zones", 0, "thermocouple")),
    ("ceiling over the limit", put("zones", 0, "ceiling", 201), "range", ("zones", 0, "ceiling")),
    ("ceiling with a unit", put("zones", 0, "ceiling_f", 300), "doubled_unit", ("zones", 0, "ceiling_f")),
    ("length missing", drop("zones", 0, "length_mm"), "missing", ("zones", 0, "length_mm")),
    ("unknown key of a zone", put("zones", 0, "relais_pin", 5), "unknown_key", ("zones", 0, "relais_pin")),
    ("gain missing", gains("kp", None), "missing", ("zones", 0, "gains", "kp")),
    ("gain below zero", gains("kd", -1), "range", ("zones", 0, "gains", "kd")),
    ("gain the law divides by", gains("c_integral", 0), "range", ("zones", 0, "gains", "c_integral")),
    ("gain without end", gains("c_gain", float("inf")), "not_a_number", ("zones", 0, "gains", "c_gain")),
    ("gains of no rig", gains("for_rig", None), "missing", ("zones", 0, "gains", "for_rig")),
    ("gains unknown", gains("ku", 1), "unknown_key", ("zones", 0, "gains", "ku")),
    ("offset a number", put("zones", 0, "offset", 3), "not_a_table", ("zones", 0, "offset")),
    ("offset of a fault", offset(reads_high_by=4.6), "range", ("zones", 0, "offset", "reads_high_by")),
    ("offset far below", offset(reads_high_by=-4.6), "range", ("zones", 0, "offset", "reads_high_by")),
    ("offset not stated", offset(reads_high_by=None), "missing", ("zones", 0, "offset", "reads_high_by")),
    ("offset with a unit", offset(reads_high_by_k=1, reads_high_by=None), "doubled_unit", OFFSET_K),
    ("offset of no day", offset(date=None), "missing", ("zones", 0, "offset", "date")),
    ("offset found by much", offset(found_by="x" * 81), "text", ("zones", 0, "offset", "found_by")),
    ("offset unknown", offset(kelvin=1), "unknown_key", ("zones", 0, "offset", "kelvin")),
    ("wood a number", put("zones", 0, "wood", 3), "not_a_table", ("zones", 0, "wood")),
    ("wood half calibrated", wood("loss", None), "missing", ("zones", 0, "wood", "loss")),
    ("wood behind nothing", wood("resistance", 0), "range", ("zones", 0, "wood", "resistance")),
    ("wood in millis", wood("resistance", 7), "range", ("zones", 0, "wood", "resistance")),
    ("wood that never dries", wood("escape_s", 301), "range", ("zones", 0, "wood", "escape_s")),
    ("wood led for long", wood("lead_s", 61), "range", ("zones", 0, "wood", "lead_s")),
    ("wood of no doubt", wood("band", 0), "range", ("zones", 0, "wood", "band")),
    ("wood band with a unit", wood("band_k", 3), "doubled_unit", ("zones", 0, "wood", "band_k")),
    ("wood of no thickness", wood("thickness_mm", 0), "range", ("zones", 0, "wood", "thickness_mm")),
    ("wood wet somehow", wood("wetted", "damp"), "choice", ("zones", 0, "wood", "wetted")),
    ("wood of no rig", wood("for_rig", 3), "not_text", ("zones", 0, "wood", "for_rig")),
    ("wood by much", wood("fitted_by", "x" * 81), "text", ("zones", 0, "wood", "fitted_by")),
    ("wood unknown", wood("lag", 3), "unknown_key", ("zones", 0, "wood", "lag")),
    ("fit no table", put("fit", 3), "not_a_table", ("fit",)),
    ("fit of no rig", fit("for_rig", None), "missing", ("fit", "for_rig")),
    ("fit by nobody", fit("fitted_by", None), "missing", ("fit", "fitted_by")),
    ("fit without values", fit("values", None), "not_a_table", ("fit", "values")),
    ("fit unknown", fit("room", 1), "unknown_key", ("fit", "room")),
    ("fit of one run", fit("runs", "run 7"), "list", ("fit", "runs")),
    ("panel no table", put("panel", 3), "not_a_table", ("panel",)),
    ("panel of nothing", put("panel", {}), "empty_panel", ("panel",)),
    ("display unknown", panel("display", "SH0000"), "choice", ("panel", "display")),
    ("display without a bus", put("panel", {"display": "SSD1306"}), "half", ("panel", "sda")),
    ("display with half a bus", panel("scl", None), "half", ("panel", "scl")),
    ("bus without a display", panel("display", None), "half", ("panel", "sda")),
    ("knob of one wire", panel("knob_a", None), "half", ("panel", "knob_a")),
    ("knob on a button", panel("knob_b", 7), "pin_twice", ("panel", "knob_b")),
    ("push on a knob's pin", panel("knob_push", 16), "pin_twice", ("panel", "knob_push")),
    ("push without a knob", push_alone("display"), "half", ("panel", "knob_push")),
    ("push without a display", push_alone("knob"), "half", ("panel", "knob_push")),
    ("buzzer on a relay", panel("buzzer", 11), "pin_twice", ("panel", "buzzer")),
    ("buzzer on no pin", panel("buzzer", None), "half", ("panel", "buzzer")),
    ("buzzer of another kind", panel("buzzer_type", "loud"), "choice", ("panel", "buzzer_type")),
    ("panel unknown", panel("knob", 3), "unknown_key", ("panel", "knob")),
)


def test_every_converter_takes_the_types_it_is_made_for():
    # The MAX6675 is made for type K alone; the MAX31855 is one part for each type.
    for chip in ("MAX31855", "MAX31856", "MAX6675"):
        for kind in ("K", "J", "T", "N"):
            values = rig_mapping()
            values["zones"][1].update({"chip": chip, "thermocouple": kind})
            found = rig.check(values)
            if chip == "MAX6675" and kind != "K":
                assert [(one.code, one.where) for one in found] == [
                    ("chip_type", ("zones", 1, "thermocouple"))
                ]
                assert '"%s"' % kind in found[0].text
                assert "MAX31856" in found[0].text
            else:
                assert found == []


def test_sample_rig_has_no_problem():
    assert rig.check(rig_mapping()) == []
    values = rig_mapping()
    gains("kp", 0.3)(values)
    values["stack"] = {"slat": "spring steel"}
    values["control"] = {"window_ms": 2000}
    fit("fitted_by", "ribwright 0.2.0")(values)
    assert rig.check(values) == []


def test_whole_panel_or_one_part_of_it_has_no_problem():
    assert problems_of(panel("buzzer", 18)) == []
    for part in ({"buzzer": 18}, {"knob_a": 16, "knob_b": 17}, {"display": "SSD1306", "sda": 14, "scl": 15}):
        assert problems_of(put("panel", part)) == []


def test_every_kind_of_mistake_is_named_and_placed():
    for name, change, code, where in MISTAKES:
        problems = problems_of(change)
        assert problems, name
        first = problems[0]
        assert (first.code, first.where) == (code, where), (name, first.sentence())
        assert "\n" not in first.sentence()


def test_nothing_but_a_mapping_is_a_rig():
    for values in (None, {}, [], "rig", 5):
        assert [(problem.code, problem.where) for problem in rig.check(values)] == [("empty", ())]


def test_parsing_raises_every_problem():
    values = rig_mapping()
    values["board"] = "laptop"
    values["mains"]["volts"] = 12
    error = refused(CheckError, rig.parse, values)
    assert [problem.code for problem in error.problems] == ["choice", "range"]


def test_currents_come_from_power_and_voltage():
    made = rig.parse(rig_mapping())
    assert made.zone_names() == ["waist", "full"]
    for zone in made.zones:
        assert near(zone.current_a, 240 / 120, 1e-6)
        assert zone.power_w == 240


def test_ceiling_is_the_firmware_limit_unless_it_is_lower():
    values = rig_mapping()
    values["unit"] = "F"
    values["zones"][0]["ceiling"] = 356
    made = rig.parse(values)
    assert near(made.zones[0].ceiling_c, 180.0, 1e-3)
    assert made.zones[1].ceiling_c == 200.0
    # 180 C less 10 K are 338 F.
    assert near(rig.highest_target(made, 0, "F"), 338.0, 1e-2)
    assert rig.highest_target(made, 1, "C") == 190.0


def test_half_cycle_is_never_shorter_than_that_of_the_mains():
    for hertz in (50, 60):
        values = rig_mapping()
        values["mains"]["hertz"] = hertz
        half_cycle_ms = rig.parse(values).half_cycle_ms
        assert 500.0 / hertz <= half_cycle_ms < 500.0 / hertz + 1


def test_gains_of_the_file_replace_the_built_in_ones():
    values = rig_mapping()
    gains("kp", 0.3)(values)
    made = rig.parse(values)
    assert made.zones[0].gains["kp"] == 0.3
    assert made.zones[0].gains["c_integral"] == 3.0
    assert made.zones[1].gains == gains_for(1000)
    # One zone's gains are not another's, nor everyone's.
    made.zones[1].gains["kp"] = 9.0
    assert gains_for(1000)["kp"] != 9.0
    assert rig.parse(values).zones[1].gains["kp"] != 9.0


def test_rig_without_any_relay_only_watches():
    made = bench_rig(watched(0, 1))
    assert made.watches
    assert made.window_ms == 1000
    assert not bench_rig().watches


def test_offset_is_in_the_unit_of_the_file_and_each_zone_has_its_own():
    made = bench_rig(offset())
    assert [zone.offset_k for zone in made.zones] == [1.5, 0.0]

    def in_fahrenheit(values):
        offset(reads_high_by=-1.8)(values)
        values["unit"] = "F"

    # A degree C is 1.8 degrees F, by the definition of the scale.
    assert near(bench_rig(in_fahrenheit).zones[0].offset_k, -1.0, 1e-6)


def test_calibrated_zone_has_its_own_figures_and_a_narrower_band():
    made = bench_rig(wood("escape_s", 50))
    first, second = made.zones[0].wood, made.zones[1].wood
    assert (first.resistance_m2_k_w, first.loss_w_m2_k, first.escape_s) == (0.0062, 9.5, 50)
    assert first.band_k == 3.5
    assert first.lead_s == second.lead_s == 5.0
    assert bench_rig(wood("lead_s", 11)).zones[0].wood.lead_s == 11
    assert (second.resistance_m2_k_w, second.loss_w_m2_k, second.escape_s) == (7.0e-3, 7.0, 40.0)
    assert second.band_k == 8.0
    assert bench_rig(wood("band", 5)).zones[0].wood.band_k == 5.0

    def in_fahrenheit(values):
        wood("band", 9)(values)
        values["unit"] = "F"

    assert near(bench_rig(in_fahrenheit).zones[0].wood.band_k, 5.0, 1e-6)
