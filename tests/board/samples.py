"""Mappings and helpers that the tests of the core share. Runs in CPython and on the board's interpreter."""

from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.sensing import Reading


class Draws:
    """The same pseudo-random numbers in both interpreters: x -> (1103515245 x + 12345) modulo 2^31."""

    def __init__(self, seed):
        self._state = seed

    def below(self, limit):
        """A whole number from 0 to limit - 1."""
        self._state = (self._state * 1103515245 + 12345) % 2147483648
        return (self._state // 65536) % limit

    def share(self):
        """A number from 0 to 1, in steps of 1/10000."""
        return self.below(10001) / 10000.0


def refused(error, function, *args):
    """The error of the given class that a call must raise."""
    try:
        function(*args)
    except error as seen:
        return seen
    raise AssertionError("nothing was refused")


def zone_mapping(name="waist", position=0):
    return {
        "name": name,
        "power_w": 240,
        "length_mm": 300,
        "width_mm": 90,
        "relay": "solid-state",
        "relay_pin": 10 + position,
        "chip": "MAX31855",
        "thermocouple": "K",
        "select_pin": 20 + position,
    }


def gains_mapping():
    return {
        "c_gain": 2.0,
        "c_integral": 3.0,
        "c_derivative": 0.5,
        "kappa": 1.5,
        "kp": 0.25,
        "ki": 0.0125,
        "kd": 0.5,
        "for_rig": "ab41ae20ffe6",
        "tuned_by": "hand",
    }


def rig_mapping():
    """Two zones of 2 A each on a branch that takes both."""
    return {
        "schema": 1,
        "name": "two-zone bench rig",
        "unit": "C",
        "board": "pico",
        "mains": {"volts": 120, "hertz": 60, "branch_limit_a": 12},
        "pins": {"sck": 2, "mosi": 3, "miso": 4, "alive": 5, "start": 6, "next": 7, "stop": 8},
        "zones": [zone_mapping("waist", 0), zone_mapping("full", 1)],
    }


def piece_mapping():
    return {
        "kind": "side",
        "species": "sapele",
        "thickness_mm": 1.7,
        "width_mm": 80,
        "length_mm": 420,
        "pieces": 2,
        "wetted": "misted",
    }


def profile_mapping():
    """Sides of a baritone ukulele: waist first, then the whole, in Celsius."""
    return {
        "schema": 1,
        "name": "sapele baritone sides",
        "unit": "C",
        "piece": piece_mapping(),
        "stages": [
            {"kind": "ramp", "zones": ["waist"], "target": 150},
            {
                "kind": "hold",
                "zones": ["waist"],
                "target": 150,
                "until": "maker",
                "longest_min": 5,
                "cues": ["press the waist on"],
            },
            {"kind": "ramp", "zones": ["waist", "full"], "target": 150, "rate_per_min": 60},
            {"kind": "hold", "zones": ["waist", "full"], "target": 150, "minutes": 2},
            {"kind": "set", "zones": ["waist", "full"], "target": 120, "minutes": 1},
            {"kind": "cool", "below": 50},
        ],
    }


def bench_rig(change=None):
    """The checked rig of rig_mapping(); change: function that alters the mapping first."""
    values = rig_mapping()
    if change:
        change(values)
    return parse_rig(values)


def profile_of(stages, rig=None):
    """A checked profile with the given stages and a cool stage at its end."""
    values = profile_mapping()
    values["stages"] = stages + [{"kind": "cool", "below": 50}]
    return parse_profile(values, rig or bench_rig())


def readings(temps_c, at_ms, cold_c=20.0):
    """Per zone a good reading."""
    return [Reading(temperature_c, cold_c, at_ms) for temperature_c in temps_c]


def near(seen, wanted, tolerance):
    """Whether two numbers differ by no more than a tolerance."""
    return abs(seen - wanted) <= tolerance


def until(done, act, most=1000):
    """Act until it is done. What never comes fails its test after so many acts; it does not hang it."""
    for _ in range(most):
        if done():
            return
        act()
    raise AssertionError(f"nothing came of {most} acts")


def put(*path_and_value):
    """A change that sets one value of a mapping, by its path."""

    def change(values):
        at = values
        for key in path_and_value[:-2]:
            at = at[key]
        at[path_and_value[-2]] = path_and_value[-1]

    return change


def drop(*path):
    """A change that removes one key of a mapping, by its path."""

    def change(values):
        at = values
        for key in path[:-1]:
            at = at[key]
        del at[path[-1]]

    return change
