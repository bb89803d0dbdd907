"""Relay time is accounted in whole milliseconds, and figures are what log and link show."""

from ribwright_board.core.figures import Figures
from ribwright_board.core.outputs import Outputs
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
    assert figures.rows == [
        [1500, 1493, 334, 330, TENTHS_MISSING],
        [TENTHS_MISSING, TENTHS_MISSING, 0, 0, TENTHS_MISSING],
    ]
    figures.fill(0, None, None, 1.0, 1000)
    assert figures.rows[0] == [TENTHS_MISSING, TENTHS_MISSING, 1000, 1000, TENTHS_MISSING]
