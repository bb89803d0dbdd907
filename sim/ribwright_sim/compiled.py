"""The functions of the fast solver as a run: as they stand, or compiled where numba is installed.

Both make a copy of every function the run reaches, with the laws and the control of the problem in place of
the names in kernels.py.  A compiled copy's name carries a digest of all code and every constant it was made
from: numba keeps compiled code on disk and would not notice a constant that changed.
"""

from __future__ import annotations

import dis
import hashlib
import importlib
import importlib.util
import types
from collections.abc import Callable
from functools import cache
from typing import Any

from . import controller_kernel, dense_lane, kernels, one_lane, steps
from .laws import Laws
from .rows import Rows

HAVE_NUMBA = importlib.util.find_spec("numba") is not None
_OURS = "ribwright_"
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract", "nsz"}}
# Stand-ins for what a compiled run is given: the run itself, the shape of its array, its rows.
_RUN: Any = None
_SHAPE: Any = None
_ROWS: Any = None
# Only these modules name the laws and the rest by what may be put in place.
_SOLVER = {one.__name__ for one in (kernels, steps, one_lane, dense_lane, controller_kernel)}


def _names(function: types.FunctionType) -> tuple[str, ...]:
    """Global names a function reads, attributes left out."""
    found = {i.argval for i in dis.get_instructions(function) if i.opname == "LOAD_GLOBAL"}
    return tuple(sorted(found))


def _stands_for(function: types.FunctionType, name: str, swaps: dict[str, Any]) -> Any:
    """What a global name of a function means in its copy: a law may well call something a law is called."""
    if name in swaps and (name == "np" or function.__module__ in _SOLVER):
        return swaps[name]
    return function.__globals__.get(name)


def _plain_functions(root: Any, swaps: dict[str, Any]) -> dict[Any, Any]:
    """Every function of ours that `root` reaches, each once, by the function a name stands for."""
    found: dict[Any, Any] = {}
    waiting = [root]
    while waiting:
        function = waiting.pop()
        if function in found:
            continue
        found[function] = function
        for name in _names(function):
            value = _stands_for(function, name, swaps)
            if isinstance(value, types.FunctionType) and value.__module__.startswith(_OURS):
                waiting.append(value)
    return found


def _digest(functions: dict[Any, Any], swaps: dict[str, Any], more: str) -> str:
    """Of the code of all functions and the numbers they name, and of `more`."""
    total = hashlib.sha256(more.encode())
    for function in sorted(functions, key=lambda one: (one.__module__, one.__qualname__)):
        code = function.__code__
        total.update(f"{function.__module__}.{function.__qualname__}".encode())
        total.update(code.co_code)
        total.update(repr([c for c in code.co_consts if not isinstance(c, types.CodeType)]).encode())
        for name in _names(function):
            value = _stands_for(function, name, swaps)
            what = getattr(value, "__qualname__", None) or (
                value if isinstance(value, (int, float, str, tuple)) else ""
            )
            total.update(f"{name}={what!r};".encode())
    return total.hexdigest()[:16]


def _swaps(laws: Laws, control: Callable[..., Any]) -> dict[str, Any]:
    return {**laws._asdict(), "control": control}


def _swept_by(module: types.ModuleType) -> dict[str, Any]:
    """The functions of steps.py and kernels.py that a module has its own of."""
    names = ("factorise", "sweep_in", "sweep_out", "sweep_back", "sweep_end")
    return {
        name: getattr(module, name)
        for name in names
        if module.__name__ == getattr(getattr(module, name, None), "__module__", None)
    }


def _copies(
    swaps: dict[str, Any], finish: Callable[[types.FunctionType], Any], root: Any = steps.run
) -> Callable[..., None]:
    """The run, or another `root`, with `swaps` in place of names, every copy passed through `finish`."""
    functions = set(_plain_functions(root, swaps).values())
    made: dict[Any, Any] = {}

    def make(function: Any) -> Any:
        if function in made:
            return made[function]
        names = {name: value for name, value in function.__globals__.items() if name.startswith("__")}
        for name in _names(function):
            if name in swaps or name in function.__globals__:
                value = _stands_for(function, name, swaps)
                names[name] = (
                    make(value) if isinstance(value, types.FunctionType) and value in functions else value
                )
        copy = types.FunctionType(function.__code__, names, function.__name__, function.__defaults__)
        copy.__qualname__, copy.__module__ = function.__qualname__, function.__module__
        made[function] = finish(copy)
        return made[function]

    result: Callable[..., None] = make(root)
    return result


@cache
def plain_run(laws: Laws, control: Callable[..., Any], dense: bool) -> Callable[..., None]:
    """`steps.run` for these laws and this control, with numpy alone; `dense` for one lane by matrices."""
    return _copies(_swaps(laws, control) | (_swept_by(dense_lane) if dense else {}), lambda copy: copy)


def _run_flat(
    w: Any,
    ix: Any,
    targets_c: Any,
    trace_c: Any,
    step_s: float,
    per_window: int,
    every: int,
    band_k: float,
    stiff: bool,
) -> None:
    """`steps.run` on a flat array; the capitals are put in place by `compiled_run`."""
    _RUN(w.reshape(_SHAPE), _ROWS, ix, targets_c, trace_c, step_s, per_window, every, band_k, stiff)


@cache
def compiled_run(laws: Laws, control: Callable[..., Any], rows: Rows) -> Callable[..., None]:
    """`steps.run` for these laws and this control, compiled for one plan of rows; needs numba.

    `rows.lanes` is 1 or BLOCK_LANES.  The rows are constants to the compiler, which lets it see that what a
    loop writes is not what it reads; the array is passed flat and without them.
    """
    fast_math = importlib.import_module(f"{__package__}.fast_math")
    numba = importlib.import_module("numba")

    swaps = _swaps(laws, control) | {
        "each_lane": fast_math.EACH_LANE[rows.lanes],
        "span": range,
        "at": fast_math.add,
        "np": fast_math.module(),
    }
    if rows.lanes == 1:
        swaps |= _swept_by(one_lane)
    functions = _plain_functions(steps.run, swaps)
    digest = _digest(functions | fast_math.plain_functions(), swaps, f"{tuple(rows)} {numba.__version__}")

    def finish(copy: types.FunctionType) -> Any:
        return numba.njit(copy, forceinline=True, **_OPTIONS)

    inner = _copies(swaps, finish)
    shape = (rows.size, rows.lanes)

    names = {"_RUN": inner, "_SHAPE": shape, "_ROWS": rows, "__name__": __name__, "__file__": __file__}
    copy = types.FunctionType(_run_flat.__code__, names, _run_flat.__name__)
    copy.__qualname__, copy.__module__ = f"{_run_flat.__qualname__}_{digest}", __name__
    result: Callable[..., None] = numba.njit(copy, cache=True, **_OPTIONS)
    return result


def _second(w: Any, r: Any, ix: Any, now_s: float, past_s: float, step_s: float) -> None:
    """`steps.second`; the capitals are put in place by `compiled_second`."""
    _RUN(w, r, ix, now_s, past_s, step_s)


@cache
def compiled_second() -> Callable[..., None]:
    """`steps.second` for the laws of the bench, compiled once for any rows and lanes; needs numba."""
    fast_math = importlib.import_module(f"{__package__}.fast_math")
    numba = importlib.import_module("numba")
    swaps: dict[str, Any] = {
        "each_lane": fast_math.all_lanes,
        "span": range,
        "at": fast_math.add,
        "np": fast_math.module(),
    }
    functions = _plain_functions(steps.second, swaps) | fast_math.plain_functions()
    digest = _digest(functions, swaps, f"{fast_math.all_lanes.__code__.co_code!r} {numba.__version__}")
    inner = _copies(swaps, lambda copy: numba.njit(copy, **_OPTIONS), steps.second)
    names = {"_RUN": inner, "__name__": __name__, "__file__": __file__}
    copy = types.FunctionType(_second.__code__, names, _second.__name__)
    copy.__qualname__, copy.__module__ = f"{_second.__qualname__}_{digest}", __name__
    result: Callable[..., None] = numba.njit(copy, cache=True, **_OPTIONS)
    return result
