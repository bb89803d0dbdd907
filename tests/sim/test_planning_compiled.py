"""The search for a plan goes the same way compiled as with numpy alone."""

import numpy as np
import pytest

from ribwright_host.virtual import example_piece, example_rig
from ribwright_sim import planning_bench
from ribwright_sim.ensemble import draws
from ribwright_sim.planning_bench import Lanes

pytest.importorskip("numba")


def bent(monkeypatch, compiled):
    """Two blankets brought to heat, one of them pressed, some lanes left out on the way."""
    monkeypatch.setattr(planning_bench, "HAVE_NUMBA", compiled)
    piece = {**example_piece(), "wetted": "soaked"}
    lanes = Lanes(example_rig().mapping, piece, draws(piece, 5, 3), 2)
    targets_c = np.full((2, lanes.count), 150.0)
    targets_c[1] = np.nan
    for second in range(240):
        if second == 150:
            targets_c[1] = 130.0
            lanes.press(0, np.arange(lanes.count) % 2 == 0)
        if second == 200:
            lanes.keep(np.array([0, 3, 4, 7]))
            targets_c = targets_c[:, [0, 3, 4, 7]]
        lanes.advance(targets_c)
    return lanes.junction_c(), *lanes.wood()


def test_compiled_lanes_are_where_plain_ones_are(monkeypatch):
    plain, compiled = bent(monkeypatch, compiled=False), bent(monkeypatch, compiled=True)
    for one, other in zip(plain, compiled, strict=True):
        assert np.all(one > 0.0)
        # Both round, and neither decides anything by its last digits.
        np.testing.assert_allclose(other, one, rtol=1e-7, atol=1e-7)
