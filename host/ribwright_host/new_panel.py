"""The panel of a first rig, by asking: display, knob with its push switch, buzzer; free pins are proposed."""

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import click
import tomlkit

from ribwright_board.core import rig_panel

from .board_pins import stated_pins

if TYPE_CHECKING:
    from .new import Asker

NONE, NO, YES = "none", "no", "yes"
# Pins that suit a part, the best first; those that a rig uses already are passed over. A Pico's display needs
# two of one bus. An ESP32 has few left: GPIO 5 and 15 are pulled up as it starts, as a knob at rest pulls
# them, and GPIO 2 must be low then, as a buzzer behind a transistor leaves it (data sheet, from memory). A
# push switch may have one of the former two, where they are left.
PLACES: Mapping[str, Mapping[str, tuple[tuple[int, ...], ...]]] = {
    "pico": {
        "display": ((4, 5), (0, 1)),
        "knob": ((6, 7), (2, 3)),
        "push": ((2,), (28,), (26,)),
        "buzzer": ((3,), (2,), (27,)),
    },
    "esp32": {
        "display": ((21, 22), (14, 22)),
        "knob": ((27, 14), (5, 15), (14, 15)),
        "push": ((15,), (5,)),
        "buzzer": ((2,),),
    },
}
KEYS = {
    "display": ("sda", "scl"),
    "knob": ("knob_a", "knob_b"),
    "push": ("knob_push",),
    "buzzer": ("buzzer",),
}
WORDS = {
    "sda": "the display's SDA",
    "scl": "the display's SCL",
    "knob_a": "the knob's contact A",
    "knob_b": "the knob's contact B",
    "knob_push": "the knob's push switch",
    "buzzer": "the buzzer",
}
PIN = click.IntRange(0, 39)


def proposed(board: str, part: str, used: Iterable[int]) -> tuple[int, ...]:
    """Free pins for a part of the panel; the first of its places where none is quite free.

    board: pico, pico2 or esp32. part: display, knob, push or buzzer. used: GPIO numbers of the rig so far.

    >>> proposed("pico", "buzzer", (3, 10)), proposed("esp32", "display", (27, 21))
    ((2,), (14, 22))
    """
    return free(board, part, used) or _places(board, part)[0]


def free(board: str, part: str, used: Iterable[int]) -> tuple[int, ...]:
    """The same, empty where none is quite free.

    board, part, used: as proposed().

    >>> free("esp32", "push", (5, 15))
    ()
    """
    taken = set(used)
    return next((place for place in _places(board, part) if not taken & set(place)), ())


def _places(board: str, part: str) -> tuple[tuple[int, ...], ...]:
    return PLACES["esp32" if board == "esp32" else "pico"][part]


def ask_panel(asker: "Asker", rig: Mapping[str, Any], *, display: bool) -> dict[str, Any]:
    """What the panel has beside its buttons, as the keys of [panel]; empty for nothing.

    asker: who is asked. rig: its values so far, with the pins of everything else. display: the board has
    memory for one.
    """
    panel: dict[str, Any] = {}
    board = str(rig["board"])

    def used() -> list[int]:
        return [gpio for _, _, gpio in stated_pins({**rig, "panel": panel})]

    def pins(part: str) -> None:
        for key, gpio in zip(KEYS[part], proposed(board, part, used()), strict=True):
            panel[key] = asker.ask(f"Panel: GPIO for {WORDS[key]}", gpio, PIN)

    if display:
        kinds = click.Choice([NONE, *rig_panel.DISPLAYS])
        kind = asker.ask("Panel: a display, for bends without a computer", NONE, kinds)
        if kind != NONE:
            panel["display"] = kind
            pins("display")
    if asker.ask("Panel: a rotary knob", NO, click.Choice([NO, YES])) == YES:
        pins("knob")
        # Without a display nobody could see its list; an ESP32 of three zones has no pin left for it.
        if "display" in panel and free(board, "push", used()):
            pushes = "Panel: the knob's push switch, which opens a list of what may be asked in a bend"
            if asker.ask(pushes, NO, click.Choice([NO, YES])) == YES:
                pins("push")
    sounds = click.Choice([NONE, *rig_panel.BUZZERS])
    sound = asker.ask("Panel: a buzzer (active sounds by itself, passive needs a tone)", NONE, sounds)
    if sound != NONE:
        pins("buzzer")
        panel["buzzer_type"] = sound
    return panel


def with_panel(rig: tomlkit.TOMLDocument, panel: Mapping[str, Any]) -> tomlkit.TOMLDocument:
    """The rig file with its panel, in place of the commented lines of the example that explain it.

    rig: as asked so far. panel: keys and values of [panel]; empty leaves the file as it is.
    """
    if not panel:
        return rig
    lines = []
    for line in tomlkit.dumps(rig).split("\n"):
        if line.strip() == "# [panel]":
            lines.append("[panel]")
            continue
        found = re.match(r"# (\w+) = \S+(.*)", line)
        if found and found.group(1) in panel:
            value = tomlkit.item(panel[found.group(1)]).as_string()
            lines.append(f"{found.group(1)} = {value}{found.group(2)}")
        else:
            lines.append(line)
    return tomlkit.parse("\n".join(lines))
