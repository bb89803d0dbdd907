"""The help: the commands in the order of the work, complete, and quick because nothing heavy is loaded."""

import os
import subprocess
import sys

import pytest
from click.testing import CliRunner

from ribwright_host.cli import COMMANDS, cli
from ribwright_host.errors import EXIT_CODES, HostError

HEAVY = {"rich", "matplotlib", "numpy", "scipy", "jinja2", "serial", "tomlkit", "schemdraw", "ribwright_sim"}
HEAVY |= {"peewee", "playhouse", "starlette", "uvicorn"}


def test_help_loads_nothing_heavy():
    code = (
        "import sys; from ribwright_host.cli import cli\n"
        "try:\n    cli(['--help'])\nexcept SystemExit as end:\n    assert end.code == 0\n"
        "print('LOADED', *sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=300, check=True
    )
    loaded = set(done.stdout.split("LOADED ")[1].split())
    assert "click" in loaded
    assert not loaded & HEAVY


def test_listing_the_notebook_loads_nothing_that_draws_or_reckons(tmp_path):
    code = (
        "import sys; from ribwright_host.cli import cli\n"
        f"try:\n    cli(['book', 'list', '--book', {str(tmp_path / 'book.sqlite')!r}])\n"
        "except SystemExit as end:\n    assert end.code == 3\n"
        "print('LOADED', *sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=300, check=True
    )
    loaded = set(done.stdout.split("LOADED ")[1].split())
    assert loaded & HEAVY == {"peewee", "playhouse"}


def test_commands_stand_in_the_order_of_the_work():
    text = CliRunner().invoke(cli, ["--help"]).stdout
    order = [
        "Set up:",
        "  new ",
        "Before the bend:",
        "  upload ",
        "At the form:",
        "  start ",
        "After the bend:",
        "  fetch ",
    ]
    places = [text.index(word) for word in order]
    assert places == sorted(places)


@pytest.mark.parametrize(("words", "names"), [([], COMMANDS), (["book"], ["add", "list", "export"])])
def test_no_command_shows_the_commands_each_on_its_line(words, names):
    command = [sys.executable, "-m", "ribwright_host", *words]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 2
    assert not done.stdout
    assert all(f"\n  {name} " in done.stderr for name in names)


@pytest.mark.parametrize(
    "words", [["extend", "x"], ["fetch", "two"], ["rehearse", "a.toml", "--seed", "1.5"]]
)
def test_word_for_a_number_is_told_as_anybody_would(words):
    said = subprocess.run(
        [sys.executable, "-m", "ribwright_host", *words],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert said.returncode == 2
    assert f"'{words[-1]}' is not a whole number; see: ribwright {words[0]} --help" in said.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_every_listed_command_is_there_and_explains_itself(name):
    result = CliRunner().invoke(cli, [name, "--help"])
    assert result.exit_code == 0
    assert f"ribwright {name}" in result.stdout.replace("cli ", "ribwright ")
    command = cli.get_command(None, name)
    assert command.name == name
    assert command.help.strip()


def kinds(base):
    """A class and all below it."""
    yield base
    for below in base.__subclasses__():
        yield from kinds(below)


def test_every_error_ends_with_a_documented_exit_code_and_no_two_kinds_share_one():
    documented = [code for code, _ in EXIT_CODES]
    ours = [kind.exit_code for kind in kinds(HostError)]
    assert set(ours) <= set(documented)
    assert len(ours) == len(set(ours))
    assert documented == sorted(set(documented))
    text = CliRunner().invoke(cli, ["--help"]).stdout
    assert all(f"  {code} " in text and meaning in text for code, meaning in EXIT_CODES)


def test_mistake_of_ours_is_one_line_and_keeps_what_is_needed(tmp_path):
    code = (
        "import ribwright_host.__main__ as main, platformdirs\n"
        f"platformdirs.user_log_dir = lambda *a, **k: {str(tmp_path)!r}\n"
        "import ribwright_host.cli_checking as checking\n"
        "checking.check_files = lambda *a: 1 / 0\n"
        "import sys; sys.argv = ['ribwright', 'check', 'x.toml']\n"
        "main.main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 70
    assert done.stderr.startswith("mistake: ZeroDivisionError")
    assert done.stderr.count("\n") == 1
    assert str(tmp_path / "mistake.txt") in done.stderr
    assert "ZeroDivisionError" in (tmp_path / "mistake.txt").read_text(encoding="utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="there a closed pipe is another error")
def test_reader_that_goes_away_is_no_mistake():
    reader, writer = os.pipe()
    os.close(reader)
    code = "import ribwright_host.__main__ as main, sys; sys.argv = ['ribwright', 'check', 'x']; main.main()"
    patch = "import click, ribwright_host.cli_checking as it; it.check_files = lambda *a: click.echo('x')\n"
    done = subprocess.run(
        [sys.executable, "-c", patch + code], stdout=writer, stderr=subprocess.PIPE, timeout=300, check=False
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, b"")
