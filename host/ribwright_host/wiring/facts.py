"""A figure that never travels without its unit, its rule, its source and what that source is worth."""

from dataclasses import dataclass
from typing import Any

# What a figure is worth; printed beside every rule.
SEEN = "read in a copy"
MEMORY = "from memory: verify"
COMPUTED = "computed"
ESTIMATE = "estimate"
CHOICE = "our choice"
STATUSES = (SEEN, MEMORY, COMPUTED, ESTIMATE, CHOICE)


@dataclass(frozen=True)
class Fact:
    """One sized figure.

    name: what it is, as the page says it. value: number. unit: its unit, "" for a ratio. rule: how it
    follows. source: where the rule or its weakest input comes from. status: one of STATUSES.
    """

    name: str
    value: float
    unit: str
    rule: str
    source: str
    status: str

    def text(self) -> str:
        """The figure with its unit, three figures long."""
        unit = "\u00b0C" if self.unit == "C" else self.unit
        return f"{number(self.value)} {unit}".strip()

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {
            "name": self.name,
            "value": round(self.value, 6),
            "unit": self.unit,
            "rule": self.rule,
            "source": self.source,
            "status": self.status,
        }


def number(value: float) -> str:
    """A number with three figures, without zeros that say nothing.

    value: number.
    """
    if abs(value) >= 100:
        return f"{value:.0f}"
    text = f"{value:.2f}" if abs(value) < 10 else f"{value:.1f}"
    return text.rstrip("0").rstrip(".")
