"""The command that looks for slow changes of a rig in its runs."""

from pathlib import Path

import click

from .cli_common import FILE, json_option, say, say_json


@click.command()
@click.argument("runs", type=FILE, nargs=-1)
@json_option
def ageing(runs: tuple[Path, ...], as_json: bool) -> None:
    """See in RUNS, files that were read back, whether a rig has changed.

    Compared are runs of one rig, one board and one profile that began cold: how fast each zone warms at full
    power, and what power it takes to hold a target. A change is told when it is beyond doubt and a tenth or
    more. Slow changes come from blankets, leads, relays, thermocouples that have moved, and from the mains.
    """
    from .ageing import ageing as found_in

    found = found_in(runs)
    if as_json:
        say_json(found)
        return
    for group in found["groups"]:
        mark = "SIMULATED, " if group["simulated"] else ""
        counted = f"{group['runs']} run{'' if group['runs'] == 1 else 's'}"
        say(f"{group['rig_name']} ({mark}rig {group['rig']}), {group['profile']}: {counted}")
        for one in group["trends"]:
            say(f"  {one['sentence']}")
