"""The command that prints a JSON Schema for editors."""

import json
from pathlib import Path

import click

from .cli_common import FILE, say


@click.command()
@click.argument("kind", type=click.Choice(["rig", "profile"]))
@click.option("-o", "--out", type=FILE, metavar="FILE", help="Write it there, instead of on the screen.")
def schema(kind: str, out: Path | None) -> None:
    """Print the JSON Schema of a rig or profile file, for editors that complete and check TOML.

    It is made from what the board's own parser asks for. What holds between keys is for `ribwright check`.
    """
    from .schema import schema_of
    from .writing import unwritable

    text = json.dumps(schema_of(kind), indent=2) + "\n"
    if out is None:
        click.echo(text, nl=False)
        return
    try:
        out.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise unwritable(out, error, "name another file") from None
    say(f"wrote {out}")
