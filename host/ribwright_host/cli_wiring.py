"""The command that draws a rig's wiring."""

from datetime import UTC, datetime
from pathlib import Path

import click

from .cli_common import FILE, json_option, say, say_json

AMPERES = click.FloatRange(1, 100)
CELSIUS = click.FloatRange(-10, 400)
METRES = click.FloatRange(0.1, 30)


@click.command()
@click.argument("rig", type=FILE)
@click.option("--out", type=FILE, metavar="DIR", help="Folder for the files [default: wiring beside RIG].")
@click.option(
    "--practice",
    type=click.Choice(["us", "iec"]),
    help="Symbols and standard sizes [default: us up to 150 V, iec above].",
)
@click.option(
    "--breaker-a",
    type=AMPERES,
    metavar="A",
    help="Breaker of the branch [default: what branch_limit_a implies].",
)
@click.option(
    "--label-volts",
    type=click.FloatRange(50, 480),
    metavar="V",
    help="Voltage on the blankets' labels [default: the mains].",
)
@click.option(
    "--blanket-c",
    type=CELSIUS,
    metavar="C",
    default=230.0,
    show_default=True,
    help="What the blankets are rated for.",
)
@click.option("--cord-m", type=METRES, metavar="M", default=3.0, show_default=True, help="Supply cord.")
@click.option(
    "--lead-m", type=METRES, metavar="M", default=1.5, show_default=True, help="Lead of each blanket."
)
@click.option(
    "--shop-c", type=CELSIUS, metavar="C", default=30.0, show_default=True, help="Hottest air in the shop."
)
@click.option(
    "--box-c", type=CELSIUS, metavar="C", default=40.0, show_default=True, help="Air inside the enclosure."
)
@click.option(
    "--lead-c",
    type=CELSIUS,
    metavar="C",
    default=120.0,
    show_default=True,
    help="Hottest place of a blanket's lead.",
)
@json_option
def wiring(  # noqa: PLR0913, PLR0917 - a command has an argument for each of its options
    rig: Path,
    out: Path | None,
    practice: str | None,
    breaker_a: float | None,
    label_volts: float | None,
    blanket_c: float,
    cord_m: float,
    lead_m: float,
    shop_c: float,
    box_c: float,
    lead_c: float,
    as_json: bool,
) -> None:
    """Draw the wiring of RIG: mains side, low-voltage side, pins, parts, checks before power.

    Fuses, leads, relays, heat-sinks and cut-offs are sized from the file; what it does not hold is taken from
    the options and printed on the page. A rig that would overload its branch is refused.

    Mains work is done by, or checked by, a licensed electrician, under the local code. This is a drawing, not
    a certified design.
    """
    from .rigs import load_rig
    from .wiring import design, page
    from .wiring.parts import parts

    site = design.Site(
        practice=practice,
        breaker_a=breaker_a,
        label_volts=label_volts,
        blanket_c=blanket_c,
        cord_m=cord_m,
        lead_m=lead_m,
        shop_c=shop_c,
        box_c=box_c,
        lead_c=lead_c,
    )
    plan = design.plan(load_rig(rig, foreign_gains=True, foreign_fit=True), site)
    folder = out or rig.parent / "wiring"
    date = datetime.now(UTC).astimezone().date().isoformat()
    written = page.write(plan, date, folder)
    if as_json:
        say_json(
            {
                "rig": plan.rig.hash,
                "files": [str(path) for path in written],
                "warnings": list(plan.warnings),
                "pins": [
                    {
                        "signal": pin.signal,
                        "gpio": pin.gpio,
                        "pin": pin.place,
                        "use": pin.use,
                        "mind": pin.note,
                    }
                    for pin in plan.pins
                ],
                "parts": [part.as_json() for part in parts(plan)],
                "branch": [fact.as_json() for fact in plan.facts],
                "zones": {zone.name: [fact.as_json() for fact in zone.facts] for zone in plan.zones},
            }
        )
        return
    for warning in plan.warnings:
        say(warning)
    say(f"Taken as given: {page.site_words(plan)}.")
    say(f"wrote {len(written)} files into {folder}")
    say("Mains work is done by, or checked by, a licensed electrician; local code comes first.")
    say(f"Next: print {written[-1]}")
