"""Commands run as a person would, without a terminal, and the one line of a refusal."""

from click.testing import CliRunner

from ribwright_host.cli import cli


def run(*args, answers=None):
    """What a command said and its exit code."""
    return CliRunner().invoke(cli, [str(arg) for arg in args], input=answers)


def one_line(result, code, exit_code):
    """The error of a command, which must be the only line it says."""
    assert result.exit_code == exit_code, result.output
    assert result.stderr.startswith(f"{code}: "), result.output
    assert result.stderr.count("\n") == 1
    assert "Traceback" not in result.output
    return result.stderr
