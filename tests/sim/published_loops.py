"""Processes with their reductions, settings and robustness, as tuning literature goes through them.

Cases E1 to E15 are those of Skogestad's paper of 2003 on simple rules (SIMC). Only the reductions of E2 were
seen in print; processes and other reductions are from memory. Settings and Ms stand as they were recomputed
by a separate program from the stated rules: series PID, no filter, closed-loop time = dead time. Numbers are
text so that a test can hold them to the digits typed.
"""

from dataclasses import dataclass

from ribwright_sim.lag_model import LagModel

E1 = LagModel(1.0, (1.0, 0.2))
E2 = LagModel(1.0, (2.0, 1.0, 0.4, 0.2, 0.05, 0.05, 0.05), (-0.3, 0.08))
E3 = LagModel(2.0, (20.0, 1.0, 0.1, 0.1), (15.0,))
E4 = LagModel(1.0, (1.0, 1.0, 1.0, 1.0))
E5 = LagModel(1.0, (1.0, 0.2, 0.04, 0.008))
E6 = LagModel(1.0, (1.0, 1.0, 0.028), (0.17, 0.17), integrating=True)
E8 = LagModel(1.0, (1.0, 1.0), integrating=True)
E9 = LagModel(1.0, (1.0, 1.0), dead_s=1.0)
E10 = LagModel(1.0, (20.0, 2.0), dead_s=1.0)
E15 = LagModel(1.0, (1.0,), (-1.0,))


@dataclass(frozen=True)
class Case:
    """gain, lags_s and dead_s of the reduction (an integrator is no lag), series settings, Ms of the loop."""

    name: str
    process: LagModel
    gain: str
    lags_s: tuple[str, ...]
    dead_s: str
    kc: str
    ti_s: str
    td_s: str
    ms: str

    @property
    def order(self):
        return 2 if self.td_s != "0" else 1


CASES = [
    Case("E1 PI", E1, "1", ("1.1",), "0.1", "5.5", "0.8", "0", "1.56"),
    Case("E2 PI", E2, "1", ("2.5",), "1.47", "0.850", "2.5", "0", "1.66"),
    Case("E2 PID", E2, "1", ("2", "1.2"), "0.77", "1.299", "2", "1.2", "1.72"),
    Case("E3 PI", E3, "1.5", ("1.05",), "0.15", "2.333", "1.05", "0", "1.55"),
    Case("E3 PID", E3, "1.5", ("1", "0.15"), "0.05", "6.667", "0.4", "0.15", "1.50"),
    Case("E4 PI", E4, "1", ("1.5",), "2.5", "0.3", "1.5", "0", "1.46"),
    Case("E4 PID", E4, "1", ("1.5", "1"), "1.5", "0.5", "1.5", "1", "1.43"),
    Case("E5 PI", E5, "1", ("1.1",), "0.148", "3.716", "1.1", "0", "1.59"),
    Case("E5 PID", E5, "1", ("1", "0.22"), "0.028", "17.86", "0.224", "0.22", "1.83"),
    Case("E6 PID", E6, "1", ("1.33",), "0.358", "1.397", "2.864", "1.33", "1.23"),
    Case("E8 PI", E8, "1", (), "1.5", "0.333", "12", "0", "1.77"),
    Case("E9 PI", E9, "1", ("1.5",), "1.5", "0.5", "1.5", "0", "1.61"),
    Case("E9 PID", E9, "1", ("1", "1"), "1", "0.5", "1", "1", "1.59"),
    Case("E10 PI", E10, "1", ("21",), "2", "5.25", "16", "0", "1.72"),
    Case("E10 PID", E10, "1", ("20", "2"), "1", "10", "8", "2", "1.65"),
    Case("E15 PI", E15, "1", ("1",), "1", "0.5", "1", "0", "2.00"),
]
# Remembered with dead time 1.69; the half rule as stated gives 1.188, so only what follows from 1.69 is held.
E6_PI = Case("E6 PI", E6, "1", (), "1.69", "0.296", "13.52", "0", "1.48")


def as_typed(value, text):
    """Whether a value is the typed number, to half a unit of its last digit."""
    digits = len(text.partition(".")[2])
    # Settings that come out round are typed short and are meant exactly.
    slack = 0.5 * 10.0**-digits if digits >= 2 else 1e-9
    return abs(value - float(text)) <= slack * (1.0 + 1e-9)
