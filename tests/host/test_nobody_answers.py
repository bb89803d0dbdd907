"""Where nobody can answer, a command says so, and does not speak of a keyboard."""

import subprocess
import sys

from click.testing import CliRunner

from ribwright_host import cli_form
from ribwright_host.cli import cli


def test_a_question_at_the_end_of_the_input_is_told_with_the_way_out(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_host", "new", str(tmp_path / "shop")],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 2
    assert "unanswered: the input ended" in done.stderr
    assert "--yes" in done.stderr
    assert "keyboard" not in done.stderr
    assert not (tmp_path / "shop").exists()


def test_watching_without_a_terminal_writes_lines(monkeypatch):
    seen = []
    monkeypatch.setattr(
        "ribwright_host.watch.watch_run", lambda _link, _board, _unit, style, _at: seen.append(style)
    )

    class Nobody:
        def __enter__(self):
            return None, type("Board", (), {"unit": "C"})()

        def __exit__(self, *_args):
            return False

    monkeypatch.setattr(cli_form, "connected", lambda *_args: Nobody())
    assert CliRunner().invoke(cli, ["watch"]).exit_code == 0
    assert CliRunner().invoke(cli, ["watch", "--json"]).exit_code == 0
    assert seen == ["plain", "json"]
