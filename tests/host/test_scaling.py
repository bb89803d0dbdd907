"""Sweeps of logs and notebooks, and the picture of all of them."""

import pytest

from ribwright_host.logbook import read_log
from ribwright_host.scaling import draw, log_of, logs, notebooks

SWEEP = {"unit": "plants", "sizes": [64, 256], "seconds": [0.1, 0.4], "exponent": 1.0}


def test_log_that_is_timed_is_a_whole_one():
    run = read_log(log_of(300), {}, 0)
    assert (len(run.rows), run.problems) == (300, [])


@pytest.mark.parametrize(("sweep", "sizes"), [(logs, (50, 200)), (notebooks, (100, 400))])
def test_a_sweep_has_a_time_for_every_size(sweep, sizes):
    found = sweep(sizes)
    assert found["sizes"] == list(sizes)
    assert all(seconds > 0 for seconds in found["seconds"])
    assert isinstance(found["exponent"], float)


def test_picture_names_every_sweep_and_every_way_of_spreading(tmp_path):
    spreads = {"campaign": {"1 here": 70.0, "2 by Dask": 38.0}, "tuner": {"1 here": 8.0}}
    draw({"plants": SWEEP, "notebook": SWEEP | {"unit": "runs"}}, spreads, tmp_path)
    text = (tmp_path / "scaling.svg").read_text(encoding="utf-8")
    for words in ("plants: exponent 1.00", "notebook: exponent 1.00", "2 by Dask", "wall time, s"):
        assert words in text
    assert (tmp_path / "scaling.png").stat().st_size > 1000
