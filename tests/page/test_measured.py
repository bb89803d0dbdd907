"""What the bench says of the page's figures."""

import subprocess

from ribwright_sim.measure import elsewhere, page

GOOD = {"page_latency_ms_p95": 200.0, "page_worst_tick_late_ms": 250, "page_viewers": 20}


def test_each_figure_has_its_limit():
    assert page.broken(GOOD) == []
    for name, value in (
        ("page_latency_ms_p95", 200.1),
        ("page_worst_tick_late_ms", 251),
        ("page_viewers", 19),
    ):
        assert page.broken(GOOD | {name: value}) == [name]


def test_machine_without_a_browser_measures_nothing_and_says_so(monkeypatch):
    def refused(*_args, **_more):
        return subprocess.CompletedProcess((), 1, "", "the page was not measured: no Chromium is installed\n")

    monkeypatch.setattr(elsewhere.subprocess, "run", refused)
    said = []
    figures, notes = page.measured(said.append)
    assert (figures, page.broken(figures)) == ({}, [])
    assert "no Chromium" in notes["page"]
    assert "no Chromium" in said[-1]
