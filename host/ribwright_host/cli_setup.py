"""Commands for setting up and for reading files: demo, new, check, tune."""

from pathlib import Path

import click

from .cli_common import FILE, json_option, rig_option, say, say_json, unit_option


@click.command()
@click.option(
    "--out", type=FILE, default=Path("build/demo"), show_default=True, help="Folder for the results."
)
@json_option
def demo(out: Path, as_json: bool) -> None:
    """Run a whole bend on the virtual rig: plan, tune, upload, bend, read back, report.

    Nothing is heated: the firmware of the board runs on this computer against a thermal simulation.
    """
    from . import demo as whole

    whole.run(out, as_json=as_json)


@click.command()
@click.argument("folder", type=FILE, default=Path())
@click.option("--yes", is_flag=True, help="Take every suggestion without asking.")
def new(folder: Path, yes: bool) -> None:
    """Write a first rig.toml and a first profile.toml into FOLDER.

    It asks about the rig and the wood, each with a suggestion. Files that exist are left alone.
    """
    from .new import ask_and_write

    for path in ask_and_write(folder, take_defaults=yes):
        say(f"wrote {path}")
    say(f"Next: ribwright check {folder / 'rig.toml'} {folder / 'profile.toml'}")


@click.command()
@click.argument("files", type=FILE, nargs=-1, required=True)
@rig_option
@unit_option
@json_option
def check(files: tuple[Path, ...], rig_path: Path | None, unit: str | None, as_json: bool) -> None:
    """Read rig and profile FILES: every mistake with its line, or what they do in plain words.

    A profile is checked against the rig given with --rig, or against the one rig among FILES.
    """
    from .cli_checking import check_files

    reports, error = check_files(files, rig_path, unit)
    if as_json:
        say_json([report.as_json() for report in reports])
    else:
        for report in reports:
            for line in report.lines():
                click.echo(line, err=bool(report.errors))
    if error:
        click.get_current_context().exit(error)


@click.command()
@click.argument("rig", type=FILE)
@json_option
def tune(rig: Path, as_json: bool) -> None:
    """Find the control gains of RIG on the simulator, and write them into the file.

    The file keeps its comments. The gains are tied to this rig and refused by any other.
    """
    from . import tune as tuner

    tuner.run(rig, as_json=as_json)
