"""What a user waits for is measured in fresh processes, and the README's table is the bench's own."""

import json
from pathlib import Path

import pytest

from ribwright_sim.measure import __main__ as bench
from ribwright_sim.measure import readme, waits

ROOT = Path(__file__).parents[2]
WITHIN = {
    "cli_start_help_ms": 250.0,
    "cli_start_check_ms": 400.0,
    "demo_run_wall_s": 30.0,
    "virtual_rig_realtime_factor": 300.0,
}


def test_a_start_takes_longer_than_an_interpreter_that_does_nothing():
    found = waits.starts(times=1)
    assert set(found) == {"interpreter_start_ms", "cli_start_help_ms", "cli_start_check_ms"}
    assert 1.0 < found["interpreter_start_ms"] < found["cli_start_check_ms"]


def test_measured_bend_is_a_whole_one_in_the_boards_interpreter(tmp_path, micropython_cmd):
    assert micropython_cmd
    simulated_s, wall_s, cpu_s, interpreter = waits.bend(tmp_path, heat_min=10.0)
    assert interpreter.startswith("MicroPython")
    # Ten minutes of heat, and the cooling behind them.
    assert simulated_s > 600.0
    assert cpu_s > 0.0
    assert wall_s > 0.0


def test_what_is_at_its_limit_holds_and_what_is_beyond_is_named(monkeypatch):
    monkeypatch.setattr(waits, "choose", lambda: "micropython")
    assert waits.broken(WITHIN) == []
    assert waits.broken(WITHIN | {"cli_start_help_ms": 250.1}) == ["cli_start_help_ms"]
    assert waits.broken(WITHIN | {"demo_run_wall_s": 31, "virtual_rig_realtime_factor": 299}) == [
        "demo_run_wall_s",
        "virtual_rig_realtime_factor",
    ]
    # Another interpreter in the board's place says nothing of the board's pace.
    monkeypatch.setattr(waits, "choose", lambda: "cpython")
    assert waits.broken(WITHIN | {"virtual_rig_realtime_factor": 20}) == []


def test_bench_writes_its_waits_into_file_and_readme(tmp_path, monkeypatch):
    page = tmp_path / "README.md"
    page.write_text(f"before\n{readme.BEGIN}\nwhat was here\n{readme.END}\nafter\n", encoding="utf-8")
    (tmp_path / "bench.json").write_text('{"tick_board_ms": 48.04}', encoding="utf-8")
    figures = WITHIN | {"tune_wall_s": 7.5, "demo_run_wall_s": 28.25}
    monkeypatch.setattr(waits, "measured", lambda _say: (figures, {}))
    monkeypatch.setattr(waits, "choose", lambda: "micropython")
    assert bench.main(tmp_path, ["waits"], page) == 0
    assert json.loads((tmp_path / "bench.json").read_text(encoding="utf-8"))["tune_wall_s"] == 7.5
    text = page.read_text(encoding="utf-8")
    assert text.startswith("before\n")
    assert text.endswith("\nafter\n")
    assert "what was here" not in text
    assert "`demo_run_wall_s` | 28.2 s | 30 at most |" in text
    assert "`tick_board_ms` | 48.0 ms | 50 at most |" in text
    assert f"`plans_ok` | {readme.NONE} |" in text


def test_readme_without_its_marks_is_refused_and_stays(tmp_path):
    page = tmp_path / "README.md"
    page.write_text("nothing here\n", encoding="utf-8")
    with pytest.raises(ValueError, match="no table of figures"):
        readme.put(page, {})
    assert page.read_text(encoding="utf-8") == "nothing here\n"


def test_the_readme_has_a_row_for_every_key():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    table = text.partition(readme.BEGIN)[2].partition(readme.END)[0].strip().splitlines()
    assert [line.split("|")[2].strip(" `") for line in table[2:]] == [row[0] for row in readme.ROWS]
    # As the command writes it, figures apart: nobody edits it by hand.
    for line, made in zip(table[2:], readme.lines({})[2:], strict=True):
        assert [line.split("|")[n] for n in (1, 2, 4)] == [made.split("|")[n] for n in (1, 2, 4)]
