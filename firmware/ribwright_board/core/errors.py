"""What can go wrong, each with a stable short code."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Place


class CoreError(Exception):
    """Base of the firmware's own errors.

    code: stable short word for programs.
    text: one sentence for people: what was seen, the limit, the unit, where, the next step.
    """

    def __init__(self, code: str, text: str) -> None:
        super().__init__(text)
        self.code = code
        self.text = text


class WireError(CoreError):
    """A line of the link that is not a message."""


class RefusedError(CoreError):
    """A request that the board understood and will not carry out."""


def shown(text: str) -> str:
    """A stranger's text, short and on one line.

    text: any text.

    >>> shown("a" * 50) == "a" * 37 + "..."
    True
    """
    text = text if len(text) <= 40 else text[:37] + "..."
    return "".join([letter if ord(letter) >= 32 else " " for letter in text])


class Problem:
    """One thing wrong with a profile or a rig.

    code: stable short word.
    where: tuple of keys and positions leading to the value, e.g. ("stages", 1, "target").
    text: what was seen, the limit, the unit and the next step, without the place.
    """

    def __init__(self, code: str, where: "Place", text: str) -> None:
        self.code = code
        self.where = where
        self.text = text

    def place(self) -> str:
        """The place in words, stages and zones counted from 1."""
        if not self.where:
            return "the file"
        words: list[str] = []
        for key in self.where:
            if isinstance(key, int):
                words[-1] = words[-1][:-1] if words[-1].endswith("s") else words[-1]
                words.append(str(key + 1))
            else:
                words.append(shown(key))
        return " ".join(words)

    def sentence(self) -> str:
        """Code, place and text in one line."""
        return self.code + ": " + self.place() + ": " + self.text


class CheckError(CoreError):
    """A profile or a rig that must not be used.

    problems: all that was found, in the order of the file.
    """

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__(problems[0].code, problems[0].sentence())
        self.problems = problems


# Some faults look alike to a thermocouple, so they share one advice.
_TOO_MUCH = (
    "more heat came than was asked for: let it cool; look for a relay that stays on, a bare or folded"
    " blanket, the wrong voltage, a loose thermocouple"
)
_NO_ANSWER = (
    "heat is not answered: check the thermocouple's place, plug and wire, that the blanket lies flat,"
    " then fuse, relay, cut-off and RCD"
)

_WIRES = (
    "the reading cannot be right: check the thermocouple and its plug, for exchanged wires, and that they"
    " keep away from mains"
)

# Named causes of a trip, of a refused start and of a zone held off: number in the log, what to check.
# A number is never used again for something else: old logs must keep their meaning.
FAULTS = {
    "ceiling": (1, _TOO_MUCH),
    "open": (2, "the thermocouple circuit is open: check its plug and its wire"),
    "short_ground": (3, "the thermocouple touches ground: check where its wire meets steel or the box"),
    "short_supply": (4, "the thermocouple touches the supply: check the plug and the converter board"),
    "no_chip": (5, "no converter answers: check its supply, select line and data line"),
    "bus": (6, "the converter's answer is garbled: check the data line, its length and its neighbours"),
    "implausible": (7, _WIRES),
    "stale": (8, "no fresh reading: check the converter board and its wiring"),
    "ramp_late": (9, _NO_ANSWER),
    "late_loop": (10, "the control loop stalled: note what was plugged in and send the log"),
    "software": (11, "the firmware met an error of its own: keep the log, do not use this version"),
    "no_rise": (12, _NO_ANSWER),
    "weak_rise": (13, _NO_ANSWER),
    "detached": (14, _NO_ANSWER),
    "leap": (15, _NO_ANSWER),
    "heat_while_off": (16, _TOO_MUCH),
    "too_hot": (17, _TOO_MUCH),
    "contactor_closed": (18, "the master contactor stays closed: unplug the rig and replace the contactor"),
    "contactor_open": (19, "the master contactor does not close: check emergency stop, its coil and supply"),
    "swapped": (20, "another thermocouple answered: check which plug and which relay belong to which zone"),
    "reversed": (21, _WIRES),
    "fast_rise": (22, _TOO_MUCH),
    "frozen": (23, "the converter repeats one value: check its supply and its wiring, then start again"),
    "noisy": (24, _WIRES),
    "cold_spread": (25, "a converter is wrong about the box's own temperature: check or replace it"),
    "memory": (26, "a stored limit changed by itself: keep the log and replace the board if it comes again"),
    "files": (27, "a file on the board is damaged: flash the rig or upload the profile again"),
    "resets": (28, "the board was reset twice in one run: check its supply and keep the log"),
    "unattended": (29, "nobody answered: stay with the rig while it is hot and press a button when asked"),
    "session_over": (30, "the longest time of heat for one run is over: let it cool and begin a new run"),
    "hold_power": (31, "holding takes far more or less power than before: look at blanket, relay and plug"),
    "setup_lost": (32, "the converter forgot its settings: check its supply"),
    "overvoltage": (33, "voltage from outside on a thermocouple: unplug; look where it meets mains or steel"),
}


def fault_number(code: str) -> int:
    """Number of a fault in the log; 0 for a code this firmware does not know.

    code: stable short word of the fault.
    """
    entry = FAULTS.get(code)
    return entry[0] if entry else 0


def fault_name(number: int) -> str:
    """Code of a fault from its number in the log.

    number: as fault_number() gives it.
    """
    for code, entry in FAULTS.items():
        if entry[0] == number:
            return code
    return "unknown"
