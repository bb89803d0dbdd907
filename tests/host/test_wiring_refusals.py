"""What is refused, with what would fit; and what holds for any rig that is drawn."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from host.wiring_rigs import mapping, rig_file
from ribwright_host.errors import FileError
from ribwright_host.wiring import load, switching, tables
from ribwright_host.wiring.design import Site, plan
from ribwright_host.wiring.refusal import would_fit


def refused(values, **site):
    with pytest.raises(FileError) as error:
        plan(rig_file(values), Site(**site))
    assert error.value.exit_code == 3
    assert error.value.hint
    return error.value


def test_branch_beyond_its_breaker():
    # NEC Table 210.21(B)(2): 12 A of plugged-in load at 15 A.
    error = refused(mapping(2, powers=(900, 900), limit_a=16), breaker_a=15)
    assert error.code == "branch"
    for words in ("16 A", "15 A", "12 A", "branch_limit_a"):
        assert words in error.seen
    assert "set branch_limit_a to 12" in error.hint
    assert "1440 W" in error.hint
    assert plan(rig_file(mapping(2, powers=(900, 900), limit_a=16)), Site(breaker_a=20)).breaker_a == 20


def test_blanket_that_is_too_large_for_any_interleaving():
    error = refused(mapping(1, powers=(1800,), limit_a=16), breaker_a=15)
    assert "no blanket may be above 1440 W" in error.hint
    assert would_fit([3.5, 2.0], 12, 120).endswith("all blankets together draw 5.5 A")


def test_branch_no_cord_can_feed():
    assert refused(mapping(2, powers=(900, 900), limit_a=24)).code == "conductor"
    assert "higher voltage" in refused(mapping(2, limit_a=24)).hint
    assert refused(mapping(2, 230, limit_a=30)).code == "branch"
    assert refused(mapping(2), shop_c=60.0).code == "conductor"


def test_blankets_for_other_mains():
    error = refused(mapping(2, 230), label_volts=120.0)
    assert error.code == "wrong_mains"
    assert "3.67 times" in error.seen
    drawn = plan(rig_file(mapping(2, 240)), Site(label_volts=230.0))
    # 105 W at 230 V take (240 / 230) squared of it on 240 V.
    assert drawn.zones[0].amperes == pytest.approx(105 * (240 / 230) ** 2 / 240)
    assert any("labelled 230 V" in text for text in drawn.warnings)


def test_no_cut_off_fits_under_the_blankets_rating():
    error = refused(mapping(2), blanket_c=205.0)
    assert error.code == "cut_off"
    assert "205" in error.seen


def test_lead_in_too_hot_a_place():
    assert refused(mapping(2), lead_c=180.0).code == "conductor"
    hot = plan(rig_file(mapping(2)), Site(lead_c=160.0))
    assert {zone.insulation for zone in hot.zones} == {"glass fibre"}


@pytest.mark.parametrize(
    ("board", "key", "gpio", "words"),
    [
        ("esp32", "relay_pin", 10, "flash"),
        ("esp32", "relay_pin", 35, "inputs only"),
        ("esp32", "next", 36, "no pull-up"),
        ("esp32", "select_pin", 24, "no pin"),
        ("pico", "relay_pin", 23, "no pin"),
        ("pico2", "alive", 29, "no pin"),
        ("pico", "sck", 5, "bus does not reach"),
    ],
)
def test_pins_that_cannot_do_their_work(board, key, gpio, words):
    values = mapping(2, board=board)
    table = values["zones"][0] if key.endswith("_pin") else values["pins"]
    table[key] = gpio
    error = refused(values)
    assert error.code == "pin_place"
    assert words in error.seen
    assert f"GPIO {gpio}" in error.seen
    assert key in error.seen
    assert f" {gpio}," not in error.hint


def test_example_with_an_esp32_is_refused_for_its_pins():
    # The example's relay pins are those of a Pico; an ESP32 keeps them for its flash.
    values = mapping(2, board="pico")
    values["board"] = "esp32"
    assert refused(values).code == "pin_place"


def test_pins_that_need_care_say_so():
    values = mapping(2, board="esp32")
    values["pins"]["stop"] = 12
    notes = {pin.signal: pin.note for pin in plan(rig_file(values), Site()).pins}
    assert "starts" in notes["STOP"]
    assert not notes["SCK"]


def test_box_too_hot_for_its_relays():
    error = refused(mapping(1, powers=(900,)), box_c=76.0)
    assert error.code == "heat_sink"
    # 80 C base, 7.5 A x 1.1 x 1.5 W/A: 4 K over 12.4 W are 0.32 K/W.
    assert "0.32 K/W" in error.seen
    assert (
        plan(rig_file(mapping(1, powers=(900,), relay="mechanical")), Site(box_c=76.0)).zones[0].sink_k_w == 0
    )


def test_sharing_the_branch_is_a_message():
    drawn = plan(rig_file(mapping(2, powers=(900, 900), limit_a=12)), Site())
    text = next(text for text in drawn.warnings if "in turns" in text)
    for words in ("15 A", "12 A", "50 %", "two circuits"):
        assert words in text


@st.composite
def rigs(draw):
    """Valid rigs of any kind, with what the file does not hold."""
    volts = draw(st.sampled_from([100, 110, 115, 120, 127, 150, 200, 220, 230, 240, 250]))
    zones = draw(st.integers(1, 4))
    limit_a = draw(st.floats(0.5, 20))
    powers = tuple(draw(st.integers(5, max(5, min(2000, int(limit_a * volts))))) for _ in range(zones))
    if max(powers) / volts > limit_a:
        powers = (5,) * zones
    relay = draw(st.sampled_from(["solid-state", "mechanical"]))
    values = mapping(zones, volts, relay, feedback=draw(st.booleans()), powers=powers, limit_a=limit_a)
    if max(powers) / volts > limit_a:
        values["mains"]["branch_limit_a"] = 1.0
    site = Site(
        practice=draw(st.sampled_from([None, "us", "iec"])),
        breaker_a=draw(st.sampled_from([None, None, None, 15.0, 20.0, 32.0])),
        blanket_c=draw(st.floats(208, 300)),
        shop_c=draw(st.floats(0, 45)),
        box_c=draw(st.floats(20, 75)),
        lead_c=draw(st.floats(20, 150)),
    )
    return values, site


@settings(max_examples=300, deadline=None)
@given(rigs())
def test_what_holds_for_any_rig(made):
    values, site = made
    try:
        drawn = plan(rig_file(values), site)
    except FileError as error:
        assert error.code in {"branch", "conductor", "cut_off", "fuse", "heat_sink"}  # noqa: PT017
        assert error.hint  # noqa: PT017
        return
    cord = tables.hot_factor(tables.PVC_60, site.shop_c) * drawn.cord.rated_a
    assert drawn.breaker_a <= cord + 1e-9
    assert values["mains"]["branch_limit_a"] <= 0.8 * drawn.breaker_a + 1e-9
    assert drawn.contactor_a >= load.MAINS_HIGH * sum(zone.amperes for zone in drawn.zones) - 1e-9
    for zone in drawn.zones:
        kind = dict(tables.HOT_TYPES)[zone.insulation]
        carries = tables.hot_factor(kind, site.lead_c) * zone.lead.rated_a
        assert zone.fuse_a <= carries + 1e-9
        assert load.CONTINUOUS * zone.amperes <= zone.fuse_a + 1e-9
        assert 210 <= zone.cut_off_c <= site.blanket_c
        assert zone.relay_a > load.MAINS_HIGH * zone.amperes
        if not zone.mechanical:
            heat_w = switching.dissipation(load.MAINS_HIGH * zone.amperes).value
            assert switching.base_c(heat_w, zone.sink_k_w, site.box_c) <= 80 + 1e-6
