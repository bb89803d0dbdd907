"""The page on what to check is what the firmware's faults and limits make of it."""

import re

import pytest

from ribwright_board.core import errors, guard
from ribwright_host import trouble_page


def test_every_fault_has_the_boards_words_and_something_to_check():
    text = trouble_page.page()
    for code, (number, advice) in errors.FAULTS.items():
        part = text.split(f"### {code}\n")[1].split("\n##")[0]
        assert f"Number {number} in the log" in part
        assert advice in part
        assert "\n1. " in part


def test_every_link_on_the_page_leads_to_a_heading():
    text = trouble_page.page()
    headings = {trouble_page._anchor(line.lstrip("# ")) for line in text.splitlines() if line[:1] == "#"}
    links = re.findall(r"\]\(#([^)]*)\)", text)
    assert len(links) > len(errors.FAULTS)
    assert set(links) <= headings


def test_a_new_fault_and_a_moved_limit_are_noticed(monkeypatch):
    monkeypatch.setattr(guard, "CEILING_TRIP_MS", 7000)
    assert "ceiling for 7 s" in trouble_page.page()
    monkeypatch.setattr(trouble_page, "FAULTS", errors.FAULTS | {"damp": (34, "dry it")})
    with pytest.raises(ValueError, match="damp"):
        trouble_page.page()
