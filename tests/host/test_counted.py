"""What a board counted in a month: two readings apart, and nothing where that cannot be known."""

from datetime import date

import pytest

from ribwright_host import counted
from ribwright_host.errors import FileError

BOARD = "e6614103e7452b2f"
FIRST, LAST = date(2026, 11, 1), date(2026, 11, 30)


def told(runs, switches, trips=0, on_s=(60, 90)):
    return {"run": runs, "runs": runs, "trips": trips, "on_s": list(on_s), "switches": list(switches)}


@pytest.fixture
def file(tmp_path):
    return tmp_path / "data" / "counted.json"


def test_month_is_the_last_reading_less_the_last_one_before_it(file):
    for day, values in (
        (date(2026, 9, 2), told(2, (10, 20))),
        (date(2026, 10, 30), told(5, (100, 200), on_s=(600, 900))),
        (date(2026, 11, 8), told(7, (160, 290), 1, (700, 950))),
        (date(2026, 11, 29), told(9, (250, 400), 1, (1200, 1900))),
        (date(2026, 12, 3), told(12, (900, 900), 4, (9000, 9000))),
    ):
        assert counted.note(BOARD, values, day, file)
    found = counted.between(BOARD, FIRST, LAST, file)
    assert (found.first, found.last) == (date(2026, 10, 30), date(2026, 11, 29))
    assert (found.runs, found.trips) == (4, 1)
    assert (found.switches, found.on_s) == ([150, 200], [600, 1000])


def test_without_a_reading_before_the_month_it_begins_with_the_first_in_it(file):
    counted.note(BOARD, told(5, (100, 200)), date(2026, 11, 4), file)
    assert counted.between(BOARD, FIRST, LAST, file) is None
    counted.note(BOARD, told(6, (130, 220)), date(2026, 11, 20), file)
    found = counted.between(BOARD, FIRST, LAST, file)
    assert (found.first, found.switches) == (date(2026, 11, 4), [30, 20])


def test_board_that_counts_anew_or_has_other_zones_tells_nothing(file):
    counted.note(BOARD, told(50, (900, 900)), date(2026, 10, 4), file)
    counted.note(BOARD, told(1, (3, 4)), date(2026, 11, 4), file)
    assert counted.between(BOARD, FIRST, LAST, file) is None
    counted.note(BOARD, told(60, (1000,), on_s=(1,)), date(2026, 11, 5), file)
    assert counted.between(BOARD, FIRST, LAST, file) is None
    assert counted.between("another", FIRST, LAST, file) is None


def test_spoilt_file_is_put_aside_and_not_written_over(file):
    file.parent.mkdir()
    file.write_text("{ half", encoding="utf-8")
    assert counted.note(BOARD, told(5, (100, 200)), date(2026, 11, 4), file)
    assert file.with_suffix(".unreadable").read_text(encoding="utf-8") == "{ half"
    counted.note(BOARD, told(6, (130, 220)), date(2026, 11, 20), file)
    assert counted.between(BOARD, FIRST, LAST, file).runs == 1


@pytest.mark.parametrize(
    "values", [{}, told(-1, (1, 2)), told(1, ("a", 2)), told(1, (1,)), {"runs": True}, {"runs": 1}]
)
def test_what_no_board_counts_is_not_kept(file, values):
    assert not counted.note(BOARD, values, date(2026, 11, 4), file)
    assert not file.exists()


@pytest.mark.parametrize("content", ["", "[]", '{"e6614103e7452b2f": 3}', '{"e6614103e7452b2f": {"x": {}}}'])
def test_a_file_that_is_none_tells_nothing_and_is_no_hindrance(file, content):
    file.parent.mkdir()
    file.write_text(content, encoding="utf-8")
    assert counted.between(BOARD, FIRST, LAST, file) is None
    assert counted.note(BOARD, told(5, (100, 200)), date(2026, 11, 4), file)


def test_folder_that_takes_nothing_is_told(file):
    file.parent.write_text("in the way", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be written"):
        counted.note(BOARD, told(5, (100, 200)), date(2026, 11, 4), file)
