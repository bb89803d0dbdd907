"""Commands for a run under way: nudge, extend, back-off, mark. None of them begins or goes on with heat."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from .cli_common import connected, json_option, port_option, say, say_json

if TYPE_CHECKING:
    from .link import Board

MOST_MIN = 30


def _done(said: str, values: dict[str, Any], board: Board, *, as_json: bool) -> None:
    """Say what was done."""
    if as_json:
        say_json({**values, "board": board.board_id, "rig": board.rig, "simulated": board.simulated})
    else:
        say(f"{said}{' (SIMULATED)' if board.simulated else ''}.")


@click.command()
@click.argument("way", type=click.Choice(["up", "down"]))
@click.argument("amount", type=click.FloatRange(min=0, min_open=True))
@port_option
@click.option(
    "--unit", type=click.Choice(["C", "F"]), help="AMOUNT is in these degrees, and so is the answer."
)
@json_option
def nudge(way: str, amount: float, port: str | None, unit: str | None, as_json: bool) -> None:
    """Move the target of the hold or set that is on UP or DOWN by AMOUNT degrees, as the rig's knob does.

    Degrees are the rig's, or those of --unit; they are taken in whole kelvin. No more than 10 K either way
    from the profile's target, never nearer than 10 K to a ceiling, and it ends with the stage. It is no sign
    that you are there: that takes a press at the rig.
    """
    from .acts import kelvin_of
    from .acts import nudge as move
    from .boards import require_same_version
    from .view import moved_words, shown

    with connected(port) as (link, board):
        require_same_version(board)
        unit = unit or board.unit
        by_k = kelvin_of(amount, unit) * (1 if way == "up" else -1)
        target_c = move(link, by_k)
    said = f"Asked for {moved_words(by_k, unit)}; the target is {shown(target_c, unit)} now"
    _done(said, {"asked_k": by_k, "target_c": target_c}, board, as_json=as_json)


@click.command()
@click.argument("minutes", type=click.IntRange(1, MOST_MIN))
@port_option
@json_option
def extend(minutes: int, port: str | None, as_json: bool) -> None:
    """Let the hold or set that is on last MINUTES longer.

    One that ends by the clock is held that much longer; one that you or the wood end gets a longer longest
    time. A stage takes its own longest time again at most, a run 15 minutes in all. The time you may be away,
    and the longest time of heat in a run, stay as they are.
    """
    from .acts import extend as lengthen
    from .boards import require_same_version
    from .logbook import clock_text

    with connected(port) as (link, board):
        require_same_version(board)
        left_s = lengthen(link, minutes)
    said = f"The stage lasts {minutes} min longer, {clock_text(left_s * 1000)} of its longest time are left"
    _done(said, {"minutes": minutes, "left_s": left_s}, board, as_json=as_json)


@click.command(name="back-off")
@port_option
@json_option
def back_off(port: str | None, as_json: bool) -> None:
    """Leave a ramp or hold for the next set stage that is no hotter, or for cooling where there is none.

    Cues of the stage that is left are left with it. To end the run with every relay off: ribwright stop.
    """
    from .acts import back_off as leave

    with connected(port) as (link, board):
        stage = leave(link)
    _done(f"Backed off to stage {stage}", {"stage": stage}, board, as_json=as_json)


@click.command()
@click.argument("word")
@port_option
@json_option
def mark(word: str, port: str | None, as_json: bool) -> None:
    """Note in the run's log what you saw: WORD is gave-way, stiff, cracked, steam or steam-eased.

    Nothing else comes of it; it stands on the report's time line.
    """
    from .acts import mark as note
    from .acts import mark_of

    what = mark_of(word)
    with connected(port) as (link, board):
        note(link, what)
    _done(f"Noted: {what.replace('_', ' ')}", {"mark": what}, board, as_json=as_json)
