"""A stand-in plant for tests of the rig: each zone lags (first order) towards 20 C + 180 K if powered."""

import math
from types import SimpleNamespace

AMBIENT_C = 20.0
RISE_K = 180.0
LAG_S = 60.0


class Plant:
    def __init__(self, zones, ambient_c):
        self.time_s = 0.0
        # A column for every zone.
        self.columns = tuple(f"part {number + 1}" for number in range(zones))
        self.ambient_c = ambient_c
        self.at_c = [ambient_c] * zones
        self.met = [False] * zones

    @classmethod
    def from_rig(cls, rig, piece, *, seed=0, ambient_c=AMBIENT_C, mains=1.0):
        return cls(len(rig["zones"]), ambient_c)

    def advance(self, dt_s, on):
        self.time_s += dt_s
        share = 1.0 - math.exp(-dt_s / LAG_S)
        for zone, powered in enumerate(on):
            self.at_c[zone] += (self.ambient_c + RISE_K * powered - self.at_c[zone]) * share

    def thermocouple_c(self, zone):
        return self.at_c[zone]

    def cold_junction_c(self, zone):
        return self.ambient_c

    def press_on_form(self, zone):
        self.met[zone] = True

    def sample(self):
        same = tuple(self.at_c)
        return SimpleNamespace(
            thermocouple_c=same,
            wood_mid_c=same,
            wood_hot_c=same,
            blanket_core_c=same,
            slat_c=same,
            moisture_percent=tuple(9.0 - 4.0 * met for met in self.met),
            free_percent=(0.0,) * len(same),
        )

    def energy(self):
        return SimpleNamespace(residual_fraction=0.0)
