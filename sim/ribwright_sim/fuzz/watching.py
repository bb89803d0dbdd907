"""Which functions the engine watches: all of the given packages that it can rewrite without harm.

The engine counts branches by rewriting byte code. Its release for Python 3.11 gets a backward jump wrong that
becomes too long for one byte; a function with such a jump is left as it was. What else a function does can
then still be seen by the functions it calls.
"""

from __future__ import annotations

import dis
import sys
from collections.abc import Iterator
from types import CodeType, FunctionType, ModuleType
from typing import Any

ONE_BYTE = 255


def functions(packages: tuple[str, ...]) -> Iterator[FunctionType]:
    """Every function and method of the loaded modules below some packages, each once.

    packages: names at the top.
    """
    for name, module in sorted(sys.modules.items()):
        if isinstance(module, ModuleType) and name.split(".")[0] in packages:
            for item in list(vars(module).values()):
                if getattr(item, "__module__", None) == name:
                    yield from _inside(item)


def _inside(item: object) -> Iterator[FunctionType]:
    if isinstance(item, FunctionType):
        yield item
    elif isinstance(item, type):
        for part in list(vars(item).values()):
            held = getattr(part, "__func__", part)
            held = held.fget if isinstance(held, property) else held
            if isinstance(held, FunctionType):
                yield held


def harmed(code: CodeType) -> bool:
    """Whether rewritten code, or any code inside it, jumps back by more than one byte can say."""
    inner = any(harmed(part) for part in code.co_consts if isinstance(part, CodeType))
    return inner or any(
        "BACKWARD" in step.opname and (step.arg or 0) > ONE_BYTE for step in dis.get_instructions(code)
    )


def watch(engine: Any, packages: tuple[str, ...]) -> tuple[int, int]:  # noqa: ANN401 - it carries no types
    """Have the engine rewrite what it may; returns how many functions it watches and how many it does not.

    engine: with a function instrument_func. packages: names at the top.
    """
    seen, left = 0, 0
    for function in functions(packages):
        before = function.__code__
        engine.instrument_func(function)
        if sys.version_info < (3, 12) and harmed(function.__code__):
            function.__code__ = before
            left += 1
        else:
            seen += 1
    return seen, left
