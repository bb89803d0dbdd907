"""The steps before anything has power, and the first word of the board.

work: what every step works with. Each raises StepFailedError when it is not passed, and what asking the
person or the board raises.
"""

import time

from ribwright_board import __version__
from ribwright_host.wiring.page import WORDS as WIRING

from .step import WORDS, StepFailedError, Work

INFINITE = float("inf")
EARTH_OHM = 0.2
EARTH_SOURCE = "EN 50106, 0.1 ohm without the cord"
INSULATION_MOHM = 1.0
INSULATION_SOURCE = "at 500 V, from memory: verify"
# A heating element may take 5 % more and 10 % less than its label says.
POWER_SHARE = (0.90, 1.05)
POWER_SOURCE = "U^2/P, input +5/-10 % (IEC 60335-1, from memory)"


def papers(work: Work) -> None:
    """Cautions shown and acknowledged; who does this, and who answers for the wiring."""
    # The last of them speaks of drawings.
    for head, text in (*WIRING["cautions"][:-1], *WORDS["cautions"]):
        work.show(f"{head} {text}")
    work.yes(("papers", "cautions"), "read and understood by everybody who takes part", "the cautions stand")
    for name, question in (
        ("who", "who proves the rig"),
        ("electrician", "which licensed electrician did or checked the mains side"),
        ("instruments", "which meter and insulation tester are used"),
    ):
        said = work.person.text(("papers", name), question)
        work.note(question, said or "-", "", "named")
        if not said:
            raise StepFailedError("unnamed", f"nobody is named ({question})")


def resistance_ohm(volts: float, power_w: float) -> tuple[float, float]:
    """Least and most resistance of a cold element, ohm.

    volts: rated, V. power_w: rated, W.

    >>> [round(ohm, 1) for ohm in resistance_ohm(120, 900)]
    [15.2, 17.8]
    """
    least_share, most_share = POWER_SHARE
    ohm = volts * volts / power_w
    return ohm / most_share, ohm / least_share


def cold(work: Work) -> None:
    """Plug out: resistance of each blanket, its insulation, the earth bond."""
    volts = float(work.rig.mapping["mains"]["volts"])
    for zone in work.heated:
        name = work.zones[zone]
        least, most = resistance_ohm(volts, float(work.rig.mapping["zones"][zone]["power_w"]))
        limits = (round(least, 1), round(most, 1))
        what = f"resistance of blanket {name}"
        work.measure(("cold", "blanket_ohm", name), what, "ohm", limits, POWER_SOURCE, "resistance")
        what, key = f"insulation of blanket {name} to the steel", ("cold", "insulation_mohm", name)
        work.measure(key, what, "Mohm", (INSULATION_MOHM, INFINITE), INSULATION_SOURCE, "insulation")
    what = "earth pin of the plug to slats, form, press, enclosure and door, the worst of them"
    work.measure(("cold", "earth_ohm"), what, "ohm", (0.0, EARTH_OHM), EARTH_SOURCE, "earth")


def board(work: Work) -> None:
    """The board answers, with this firmware, for this rig, and gets the computer's clock."""
    work.person.done("Plug the board into this computer; the rig's mains stay off.")
    found = work.trial.board
    status = work.trial.status()
    work.note("firmware of the board", found.firmware, "", __version__)
    work.note("rig on the board", found.rig, "", work.rig.hash)
    work.note("clock given to the board", time.strftime("%Y-%m-%d %H:%M UTC", time.gmtime()))
    if found.firmware != __version__:
        seen = f"the board carries firmware {found.firmware}, these tools are {__version__}"
        raise StepFailedError("version", seen)
    if found.rig != work.rig.hash:
        seen = f"the board holds rig {found.rig} ({found.rig_name}), {work.rig.path} is {work.rig.hash}"
        raise StepFailedError("other_rig", seen)
    if status.get("trip"):
        trip = status["trip"]
        work.note("shutdown that stands", trip["code"])
        raise StepFailedError(str(trip["code"]), f"a shutdown stands on the board ({trip['code']})")
    if status["mode"] != "idle":
        raise StepFailedError("busy", f"the rig is {status['mode']}, not idle")
