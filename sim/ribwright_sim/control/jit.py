"""Compiles a function where numba is installed; without it the same function runs as it is, slowly."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import Any, TypeVar

from ribwright_sim.compiled import HAVE_NUMBA

Function = TypeVar("Function", bound=Callable[..., Any])


def jit(function: Function) -> Function:
    """The function compiled, to run beside others in threads.

    Nothing is kept on disk: what was compiled before would not notice a change in what it calls.
    """
    if not HAVE_NUMBA:
        return function
    numba = importlib.import_module("numba")
    made: Function = numba.njit(nogil=True, error_model="numpy")(function)
    return made
