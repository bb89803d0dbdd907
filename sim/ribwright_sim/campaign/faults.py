"""The fault list as data: what strikes, whom, when, and which codes name it rightly.

Ids: A power switching, B sensing, C controller and software, D load, mains and people. An id may have several
forms. Some faults look alike to a thermocouple, so up to three codes that share one advice are right.
"""

from __future__ import annotations

from .fault import KINDS, UNDER_WAY, Fault, Kind
from .faults_board import controller, sensing
from .faults_power import load, switching

__all__ = ["FAULTS", "HARDWARE_ONLY", "KINDS", "UNDER_WAY", "Fault", "Kind"]

FAULTS = {fault.key: fault for fault in (*switching(), *sensing(), *controller(), *load())}

# Not injected: nothing here could see or show them.
HARDWARE_ONLY = {
    "A8": "leakage of a switch that is off: some mA, no heat, a live lead; contactor and plug (H3)",
    "D10": "degrees F taken for C: refused with the file, shown by tests over random profiles",
    "D11": "ground fault in a damp blanket: too little current to heat; GFCI or RCD, earth bond (H1, H6)",
    "D12": "slats or form not earthed: nothing electrical to see; measured bond (H6)",
    "D14": "emergency stop without effect: nobody sees a contact that was never opened; monthly test (H10)",
}
