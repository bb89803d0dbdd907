"""Commands for setting up and for reading files: demo, new, check, flash, tune, fit."""

from pathlib import Path

import click

from .cli_book_options import lengths_option
from .cli_common import FILE, json_option, rig_option, say, say_json, unit_option


@click.command()
@click.option(
    "--out",
    type=FILE,
    default=Path("build/demo"),
    show_default=True,
    metavar="DIR",
    help="Folder for the results.",
)
@json_option
def demo(out: Path, as_json: bool) -> None:
    """Make a matched pair on the virtual rig: plan, tune, bend side one, repeat it, compare, report.

    Both sides of a baritone ukulele, soaked sapele of 1.7 mm. Each is laid out, bent and read back as a real
    one would be, and both go into a notebook of the demo's own; the gaps it enters after rest are invented.
    It ends by naming the page of the pair, to print, and what to look at. It takes about a minute.

    Nothing is heated: the firmware of the board runs on this computer against a thermal simulation. What an
    earlier demo left in the folder is replaced, a folder that holds anything else is refused.
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
    say(
        "The profile is an example with your answers. For targets found for your wood and rig: "
        f"ribwright plan --rig {folder / 'rig.toml'} -o {folder / 'planned.toml'}"
    )


@click.command()
@click.argument("files", type=FILE, nargs=-1, required=True)
@rig_option
@unit_option
@lengths_option
@click.option("--picture", type=FILE, metavar="FILE", help="Draw the profile's stages, as PNG or SVG.")
@json_option
def check(
    files: tuple[Path, ...],
    rig_path: Path | None,
    unit: str | None,
    lengths: str,
    picture: Path | None,
    as_json: bool,
) -> None:
    """Read rig and profile FILES: every mistake with its line, or what they do in plain words.

    A profile is checked against the rig given with --rig, or against the one rig among FILES, or else against
    the rig.toml beside it. Blankets that reach past the wood are warned of.
    """
    from .cli_checking import check_files, draw_the_one

    reports, error = check_files(files, rig_path, unit, lengths)
    if picture is not None and not error:
        draw_the_one(reports, picture, unit)
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
@click.option("--port", metavar="PORT", help="Serial port of the board. Left out, it is looked for.")
@click.option("--dry-run", is_flag=True, help="Only say what would change.")
@click.option("--yes", is_flag=True, help="Replace another program on the board without asking.")
@json_option
def flash(rig: Path, port: str | None, dry_run: bool, yes: bool, as_json: bool) -> None:
    """Put this firmware and RIG onto a board that carries MicroPython.

    Switch the rig's mains off first. Only changed files are sent; each is verified before it takes its
    place. Profiles, runs and counters stay. It may be broken off at any point: the board then stays off, and
    the same command goes on. While the rig heats it is refused. A board that answers nothing any more shows
    its prompt when the stop button of the rig is held while it gets power.
    """
    from .flash import run

    run(rig, port=port, dry_run=dry_run, yes=yes, as_json=as_json)


@click.command()
@click.argument("rig", type=FILE)
@json_option
def tune(rig: Path, as_json: bool) -> None:
    """Find the control gains of RIG on the simulator, and write them into the file.

    Margins are shown beside what textbook rules would give, and drawn beside the file. The board's own
    control code must confirm the gains. The file keeps its comments; no other rig takes its gains.
    """
    from . import tune as tuner

    tuner.run(rig, as_json=as_json)


@click.command()
@click.argument("runs", metavar="RUN...", type=FILE, nargs=-1)
@click.option(
    "--rig", "rig_path", type=FILE, metavar="FILE", help="Rig file [default: rig.toml beside the first RUN]."
)
@click.option(
    "--wood",
    "wood_path",
    type=FILE,
    metavar="FILE",
    help="CSV (time_s,wood_c) of a second thermocouple in the wood of the first RUN.",
)
@click.option(
    "--wood-zone", metavar="NAME", help="Zone it lies under [default: the one that was heated most]."
)
@click.option("--write", is_flag=True, help="Put what was found into the rig file: [fit], [zones.wood].")
@click.option("--guide", is_flag=True, help="Say how to make a calibration run, and write its profile.")
@click.option("--out", type=FILE, metavar="DIR", help="Folder for the files [default: fit beside RUN].")
@unit_option
@json_option
def fit(
    runs: tuple[Path, ...],
    rig_path: Path | None,
    wood_path: Path | None,
    wood_zone: str | None,
    write: bool,
    guide: bool,
    out: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Learn the rig's parameters from recorded warm-ups.

    Each RUN is a file that `ribwright fetch` wrote. The heat it records is replayed on the simulator until
    the model follows the readings; what a log cannot tell is named, above all the wood. Nothing is heated,
    and the rig file is only written with --write.
    """
    if guide:
        from .fit_guide import run as run_guide
        from .rigs import load_rig

        rig = None if rig_path is None else load_rig(rig_path, foreign_fit=True)
        lines = run_guide(rig, out)
        if as_json:
            say_json({"guide": lines})
        else:
            for line in lines:
                say(line)
        return
    if not runs:
        from .errors import UsageError

        raise UsageError("no RUN is named", "name a file that ribwright fetch wrote, or ask for --guide")
    from . import fit as fitter

    fitter.run(
        runs,
        rig_path,
        wood_path=wood_path,
        wood_zone=wood_zone,
        write=write,
        out=out,
        unit=unit,
        as_json=as_json,
    )
