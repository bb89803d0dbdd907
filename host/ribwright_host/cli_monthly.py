"""The command that notes what was tried at a rig."""

import click

from .cli_common import connected, json_option, port_option, say, say_json
from .monthly import DUE_DAYS, TESTS

WORDS = [test.word for test in TESTS]


@click.command()
@click.argument("test", type=click.Choice(WORDS), required=False)
@port_option
@json_option
@click.option("--yes", is_flag=True, help="Do not ask: it was tried, and it did what it must.")
def tested(test: str | None, port: str | None, as_json: bool, yes: bool) -> None:
    """Note that TEST was tried at the rig today; without one, say what is due.

    Try the emergency stop and the test button of the residual-current device every month. `ribwright start`
    says when one is due. No computer can try them: press, look and listen.
    """
    from .errors import UsageError
    from .monthly import due, last_day, note

    with connected(port) as (_, board):
        pass
    if board.simulated and test is not None:
        raise UsageError(
            "this rig is simulated, there is nothing to try", "name a real --port", code="simulated"
        )
    if test is not None:
        what = next(each for each in TESTS if each.word == test)
        if not yes and not click.confirm(f"You did this: {what.act}; and {what.answer}?", err=as_json):
            failed = "Nothing is noted. If it was tried and failed: unplug the rig, and ask your electrician."
            click.echo(failed, err=as_json)
            return
        note(board.board_id, test)
    open_tests = due(board.board_id)
    if as_json:
        days = {word: str(last_day(board.board_id, word) or "") or None for word in WORDS}
        say_json({"board": board.board_id, "simulated": board.simulated, "tested": days, "due": open_tests})
        return
    say(board.title())
    for each in TESTS:
        last = last_day(board.board_id, each.word)
        if last is not None:
            say(f"  {each.name}: tested {last}, due again after {DUE_DAYS} days.")
    for one in open_tests:
        say(f"  {one['sentence']}")
