"""The command that repeats side one as it was actually bent."""

from contextlib import nullcontext
from pathlib import Path
from typing import Any

import click

from ribwright_board.core.profile import MAX_STAGES

from .cli_book_options import SIDES
from .cli_common import FILE, connected, json_option, port_option, port_words, rig_option, say, say_json
from .errors import FileError, UsageError


@click.command()
@click.argument("run", type=FILE)
@click.option("-o", "--out", type=FILE, metavar="FILE", help="Profile to write [default: RUN-again.toml].")
@click.option(
    "--up-to", type=click.IntRange(1, MAX_STAGES), metavar="STAGE", help="Repeat the stages up to this one."
)
@click.option("--thickness", metavar="LENGTH", help="Of the wood of side two, where it differs.")
@click.option("--same-rig", is_flag=True, help="The rig file changed, the rig did not.")
@click.option("--replace", is_flag=True, help="Write over a profile that is there.")
@click.option("--start", "start_now", is_flag=True, help="Upload it and make the other side's run ready.")
@click.option("--side", "hand", type=SIDES, help="Side to start [default: the other one of side one's].")
@click.option("--drawing", type=FILE, metavar="FILE", help="Draw how the strip must lie as SVG as well.")
@click.option("--yes", is_flag=True, help="Do not ask at the start.")
@port_option
@rig_option
@json_option
def again(
    run: Path,
    start_now: bool,
    hand: str | None,
    drawing: Path | None,
    yes: bool,
    port: str | None,
    rig_path: Path | None,
    as_json: bool,
    **options: Any,  # noqa: ANN401 - what the profile is made by, by name
) -> None:
    """Repeat side one as it was actually bent: RUN, as fetched, becomes a profile for side two.

    Each hold is asked for as long as it was within its band, at the target as it was moved; ramps go by
    arrival as before; what was skipped or backed off stays so. It says stage by stage what was taken over and
    what could not be, and why. A run that was shut down or cut short is refused, unless you say how far with
    --up-to.
    """
    from .again import command
    from .cli_form import start, upload

    if (drawing or hand) and not start_now:
        raise UsageError("--side and --drawing belong to --start", "add --start, or leave them out")
    ctx = click.get_current_context()
    rig = command.rig_beside(run, rig_path)
    board_rig, board_simulated, now_c = None, None, []
    with connected(port, rig_path) if start_now else nullcontext((None, None)) as (link, board):
        if link is not None and board is not None:
            board_rig, board_simulated = board.rig, board.simulated
            now_c = command.readings_c(link.ask("status"))
            if rig is not None and rig.hash != board.rig:
                # A file that merely lies beside the run says nothing of this board's limits.
                rig = None
    written = command.run(run, rig, board_rig=board_rig, now_c=now_c, **options)
    if board_simulated is False and written.run.simulated:
        raise FileError(
            f"{run} is a simulated run, and the board at hand is a real one: nothing was uploaded",
            f"read {written.out}, and upload it yourself if you mean it",
            code="simulated_run",
        )
    if as_json:
        say_json(written.as_json())
    else:
        for line in written.lines():
            say(line)
    side = hand or written.hand
    if not start_now:
        if not as_json:
            named = f" --side {side}" if side else ""
            named += f' --piece "{written.found.piece}"' if side and written.found.piece else ""
            at = port_words(port)
            say(f"Next: ribwright upload {written.out}{at}, then ribwright start {written.out}{named}{at}")
        return
    if side is None:
        raise UsageError(
            "which side RUN was is not known, so neither is the other one",
            f"say it: ribwright start {written.out} --side bass or treble",
        )
    common = {"profile": written.out, "port": port, "rig_path": rig_path, "as_json": as_json}
    ctx.invoke(upload, **common)
    ctx.invoke(start, **common, yes=yes, hand=side, piece=written.found.piece, drawing=drawing)
