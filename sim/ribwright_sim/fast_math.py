"""The few numpy functions the laws use, in a form a compiler turns into vector instructions.  Needs numba.

Same results as numpy's within the last digits.  `exp` and `cbrt` have arithmetic of their own, because the
library's are called number by number and would keep every loop that contains them from being vectorised.
"""

from __future__ import annotations

import importlib
import math
import types
from typing import Any

import numpy as np

from .lanes import BLOCK_LANES

# By name, because it is optional: whoever checks types may not have it.
numba: Any = importlib.import_module("numba")
intrinsic: Any = importlib.import_module("numba.extending").intrinsic
nb_types: Any = numba.types

# ln 2 in two parts, the first short enough that a multiple of it is exact (Cody and Waite 1980).
LN2_HIGH, LN2_LOW = 0.693145751953125, 1.42860682030941723212e-6
SHIFT = 6755399441055744.0  # 1.5 * 2**52: a sum with it has no digits below 1
ONE_BITS = float(0x3FF << 52)  # of the float 1.0
LOWEST, HIGHEST = -700.0, 700.0


def _power_of_two_code(context: Any, shifted: Any) -> Any:
    """2**n for a float that is SHIFT + n: its lowest digits are n, which become an exponent."""

    def code(_context: Any, builder: Any, _signature: Any, args: Any) -> Any:
        whole = _context.get_value_type(nb_types.int64)
        bits = builder.add(builder.bitcast(args[0], whole), whole(1023))
        return builder.bitcast(builder.shl(bits, whole(52)), _context.get_value_type(nb_types.float64))

    return nb_types.float64(nb_types.float64), code


def _third_of_exponent_code(context: Any, x: Any) -> Any:
    """A cube root of a positive float within 6 %: a third of its bits, and two thirds of those of 1."""

    def code(_context: Any, builder: Any, _signature: Any, args: Any) -> Any:
        whole = _context.get_value_type(nb_types.int64)
        real = _context.get_value_type(nb_types.float64)
        bits = builder.sitofp(builder.bitcast(args[0], whole), real)
        third = builder.fadd(builder.fmul(bits, real(1.0 / 3.0)), real(ONE_BITS * 2.0 / 3.0))
        return builder.bitcast(builder.fptosi(third, whole), real)

    return nb_types.float64(nb_types.float64), code


_power_of_two: Any = intrinsic(_power_of_two_code)
_third_of_exponent: Any = intrinsic(_third_of_exponent_code)


def cbrt(x: float) -> float:
    """Cube root of `x`, 0 or above; three steps of Halley's rule, each of which trebles the digits."""
    # At nothing the rule would divide nothing by nothing.
    x = x + 1e-60
    y: float = _third_of_exponent(x)
    for _ in range(3):
        cube = y * y * y
        y = y * (cube + 2.0 * x) / (2.0 * cube + x)
    return y


def exp(x: float) -> float:
    """e**x within 2 units of the last place; x held to +-700."""
    x = LOWEST if x < LOWEST else x
    x = HIGHEST if x > HIGHEST else x
    shifted = x * 1.4426950408889634 + SHIFT
    whole = shifted - SHIFT
    y = (x - whole * LN2_HIGH) - whole * LN2_LOW
    # Taylor to y**12: |y| <= 0.3466 leaves 1.7e-16.
    p = 1.0 / 479001600.0
    p = p * y + 1.0 / 39916800.0
    p = p * y + 1.0 / 3628800.0
    p = p * y + 1.0 / 362880.0
    p = p * y + 1.0 / 40320.0
    p = p * y + 1.0 / 5040.0
    p = p * y + 1.0 / 720.0
    p = p * y + 1.0 / 120.0
    p = p * y + 1.0 / 24.0
    p = p * y + 1.0 / 6.0
    p = p * y + 0.5
    p = p * y + 1.0
    p = p * y + 1.0
    scale: float = _power_of_two(shifted)
    return p * scale


def minimum(a: float, b: float) -> float:
    """The smaller of `a` and `b`."""
    return a if a < b else b


def maximum(a: float, b: float) -> float:
    """The larger of `a` and `b`."""
    return a if a > b else b


def where(condition: bool, a: float, b: float) -> float:
    """`a` if `condition`, else `b`."""
    return a if condition else b


def add(base: int, i: int) -> Any:
    """Row `i` counted from `base`; unsigned, so that it cannot count from the end."""
    return np.uint64(base + i)


def one_lane(lanes: int) -> range:
    """The only lane; `lanes` is 1."""
    return range(1)


def block_of_lanes(lanes: int) -> range:
    """The lanes of a block, a constant to the compiler; `lanes` is BLOCK_LANES."""
    return range(BLOCK_LANES)


def all_lanes(lanes: int) -> range:
    """However many `lanes` there are."""
    return range(lanes)


EACH_LANE = {1: one_lane, BLOCK_LANES: block_of_lanes}


def plain_functions() -> dict[Any, Any]:
    """The functions whose code decides what compiled code does."""
    ours: tuple[Any, ...] = (exp, cbrt, minimum, maximum, where, add, *EACH_LANE.values())
    return {function: function for function in ours}


def module() -> Any:
    """Stands for numpy in the compiled copies."""
    stand_in: Any = types.ModuleType("fast_numpy")
    for name in ("sqrt", "abs", "log", "uint64", "rint"):
        setattr(stand_in, name, getattr(np, name))
    for function in (exp, cbrt, minimum, maximum, where):
        setattr(stand_in, function.__name__, numba.njit(function, forceinline=True, error_model="numpy"))
    stand_in.sqrt = math.sqrt
    stand_in.logical_not = np.logical_not
    return stand_in
