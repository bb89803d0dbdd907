"""The steps of a sheet as they are run: compiled where numba is installed, else as they stand."""

from __future__ import annotations

import importlib
import types
from collections.abc import Callable
from functools import cache
from typing import Any

# The same digest that names the compiled solver: a constant that changes must not meet old code on disk.
from ribwright_sim.compiled import HAVE_NUMBA, _digest, _names, _plain_functions

from .sheet_kernel import advance
from .sheet_parts import F64, I64

Advance = Callable[[F64, F64, I64, int, F64], None]


def _next(column: int, by: int) -> int:
    """`sheet_parts.at` for one column."""
    return column + by


@cache
def compiled_advance() -> Advance:
    """`sheet_kernel.advance` compiled, loops in place of whole rows; needs numba."""
    numba: Any = importlib.import_module("numba")
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract", "nsz"}}
    functions = _plain_functions(advance, {})
    digest = _digest(functions | {_next: _next}, {}, str(numba.__version__))
    made: dict[Any, Any] = {}

    def make(function: Any, **more: Any) -> Any:  # noqa: ANN401 - numba has no types
        """A compiled copy that calls compiled copies."""
        if function.__name__ == "each":
            return range
        if function.__name__ == "at":
            function = _next
        if function not in made:
            names = {name: value for name, value in function.__globals__.items() if name.startswith("__")}
            for name in _names(function):
                if name in function.__globals__:
                    value = function.__globals__[name]
                    names[name] = make(value) if value in functions_of else value
            copy = types.FunctionType(function.__code__, names, function.__name__)
            copy.__qualname__, copy.__module__ = f"{function.__qualname__}_{digest}", function.__module__
            made[function] = numba.njit(copy, **options, **more)
        return made[function]

    functions_of = [one for one in functions if isinstance(one, types.FunctionType)]
    result: Advance = make(advance, cache=True)
    return result


def best_advance() -> Advance:
    """The compiled steps, or the plain ones where numba is missing."""
    return compiled_advance() if HAVE_NUMBA else advance
