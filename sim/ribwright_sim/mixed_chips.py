"""Converters of more than one kind on one bus, each with its own times."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from .chips import CONVERSION_US, Chip, Harness, Max31855
from .max6675 import Max6675
from .max31856 import Max31856

# What the board's side calls bus events, in place of a pin: see shim/board_chips.py.
REGISTER, RELEASED = 64, 128
REGISTERS = 16
KINDS: Mapping[str, type[Chip]] = {"MAX31855": Max31855, "MAX31856": Max31856, "MAX6675": Max6675}
# Bytes that each hands to the board.
SIZES = {"MAX31855": 4, "MAX31856": 16, "MAX6675": 2}
PLAIN = "MAX31855"


def chip_names(rig: Mapping[str, Any]) -> tuple[str, ...]:
    """Return each zone's converter, of a rig file's values; the MAX31855 where a rig does not say."""
    return tuple(str(zone.get("chip", PLAIN)) for zone in rig["zones"])


def chips_of(rig: Mapping[str, Any], seed: int, noise_k: float) -> list[Chip]:
    """Return each zone's converter and thermocouple.

    rig: values of a rig file. seed: of the scenario. noise_k: spread of the readings.
    """
    return [
        KINDS[name](seed=1000 * seed + at, noise_k=noise_k, kind=str(zone.get("thermocouple", "K")))
        for at, (name, zone) in enumerate(zip(chip_names(rig), rig["zones"], strict=True))
    ]


class MixedHarness(Harness):
    """As Harness, for chips of any kind: it asks for the junctions only when one of them converts."""

    def __init__(self, chips: Sequence[Chip]) -> None:
        super().__init__(list(chips))
        self._plain_us = [0] * len(chips)
        self._words = [b"\0\0\0\0"] * len(chips)

    def due(self, now_us: int) -> bool:
        """Return whether any chip finishes a conversion by now."""
        return any(
            chip.due(now_us) if isinstance(chip, Max31856 | Max6675) else now_us >= self._plain_us[at]
            for at, chip in enumerate(self.chips)
        )

    def live(self, now_us: int, hot_c: Sequence[float], cold_c: Sequence[float]) -> None:
        """Let every chip finish what it has; hot_c by zone, cold_c by chip (degrees C)."""
        for at, chip in enumerate(self.chips):
            junction_c, own_c = hot_c[self.junction[at]], cold_c[at]
            if isinstance(chip, Max31855):
                if now_us >= self._plain_us[at]:
                    self._plain_us[at] = now_us + CONVERSION_US
                    self._words[at] = chip.convert(junction_c, own_c)
            elif isinstance(chip, Max31856 | Max6675):
                chip.live(now_us, junction_c, own_c)

    def words(self) -> list[bytes]:
        """Return what each chip would answer now, as the shared line has it."""
        return self.mix(
            [
                chip.word() if isinstance(chip, Max31856 | Max6675) else self._words[at]
                for at, chip in enumerate(self.chips)
            ]
        )

    def mix(self, words: list[bytes]) -> list[bytes]:
        """Return what the shared line makes of the chips' own answers.

        A register chip, or a MAX6675, that is selected for good has long sent all it has: it holds the line
        up and answers nothing. A MAX31855 sends its frame again and again, beginning with the address byte
        of a register chip.

        words: in the chips' order, each as long as its SIZES says; may be changed in place.
        """
        stuck = self.select_low
        if stuck is None or isinstance(self.chips[stuck], Max31855):
            if stuck is None:
                return super().mix(words)
            if self._stuck_word is None:
                self._stuck_word = words[stuck]
            words[stuck] = self._stuck_word
            return [_held_down(word, self._stuck_word) for word in words]
        self._stuck_word = None
        words[stuck] = b"\xff" * len(words[stuck])
        return words

    def happen(self, event: int, value: int, now_us: int) -> None:
        """Take a bus event of the board: a register written, or a MAX6675 released.

        event: in place of a pin. value: what was written. now_us: of the simulation.
        """
        at, register = divmod(event - REGISTER, REGISTERS)
        chip = self.chips[event - RELEASED if event >= RELEASED else at]
        if isinstance(chip, Max6675):
            chip.released(now_us)
        elif isinstance(chip, Max31856):
            chip.write(register, value, now_us)

    def lose_supply(self) -> None:
        """The supply of board and converters dips."""
        for chip in self.chips:
            if isinstance(chip, Max31856 | Max6675):
                chip.lose_supply()


def _held_down(word: bytes, held: bytes) -> bytes:
    """A word on a line that also carries another frame."""
    if len(word) > len(held):
        return bytes(a & (held[i + 1] if i + 1 < len(held) else 0) for i, a in enumerate(word))
    return bytes(a & b for a, b in zip(word, held, strict=False))
