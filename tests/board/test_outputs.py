"""Relay time is accounted in whole milliseconds, and figures are what log and link show."""

from ribwright_board.core.figures import Figures
from ribwright_board.core.outputs import Outputs
from ribwright_board.core.proving import COLD_SPREAD_K, GOOD_MS, LIMIT_MS, Proving
from ribwright_board.core.units import TENTHS_MISSING


def test_relay_time_is_the_time_between_on_and_off():
    outputs = Outputs(2)
    outputs.put(0, True, 1000)
    outputs.put(0, True, 1100)
    outputs.put(0, False, 1250)
    outputs.put(1, False, 1250)
    assert outputs.take_ms(0, 2000) == 250
    assert outputs.take_ms(0, 3000) == 0
    assert outputs.take_ms(1, 3000) == 0
    assert outputs.off_ms[0] == 1250


def test_relay_that_stays_on_is_accounted_up_to_now():
    outputs = Outputs(1)
    outputs.put(0, True, 1000)
    assert outputs.take_ms(0, 1600) == 600
    assert outputs.take_ms(0, 2000) == 400
    outputs.put(0, False, 2100)
    assert outputs.take_ms(0, 9000) == 100
    assert outputs.on == [False]


def test_figures_are_tenths_permille_and_milliseconds():
    figures = Figures(2)
    figures.fill(0, 150.0, 149.25, 0.3335, 330)
    assert figures.rows == [[1500, 1493, 334, 330], [TENTHS_MISSING, TENTHS_MISSING, 0, 0]]
    figures.fill(0, None, None, 1.0, 1000)
    assert figures.rows[0] == [TENTHS_MISSING, TENTHS_MISSING, 1000, 1000]


def proved_after(held, cold_c):
    """Verdict and the ms it took, in steps of 100 ms."""
    proving = Proving()
    spent_ms = 0
    while True:
        spent_ms += 100
        verdict = proving.step(held(spent_ms), cold_c, 100)
        if verdict != "stay":
            return verdict, spent_ms


def test_rig_is_proved_after_two_seconds_of_good_readings():
    assert proved_after(lambda _: ["", ""], [20.0, 24.0]) == ("proved", GOOD_MS)


def test_a_fault_in_between_begins_the_time_anew():
    verdict = proved_after(lambda spent_ms: ["", "bus" if spent_ms == 1500 else ""], [20.0, 20.0])
    assert verdict == ("proved", 1500 + GOOD_MS)


def test_lasting_fault_refuses_the_run_by_its_name():
    assert proved_after(lambda _: ["", "open"], [20.0, 20.0]) == ("open", LIMIT_MS)


def test_converters_of_one_box_must_agree():
    assert proved_after(lambda _: ["", ""], [20.0, 20.0 + COLD_SPREAD_K])[0] == "proved"
    assert proved_after(lambda _: ["", ""], [20.0, 20.5 + COLD_SPREAD_K]) == ("implausible", LIMIT_MS)
