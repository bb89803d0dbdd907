"""One list of work over all cores of this machine, or over more with an existing engine.

An executor is a callable(work, tasks, workers) that gives the results in any order. work: a module's function
of one task. tasks: picklable values. workers: how many processes may run at once.
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import ExitStack
from importlib import import_module
from typing import Any

Work = Callable[[Any], Any]
Executor = Callable[[Work, Sequence[Any], int], Iterable[Any]]


class ExecutorError(Exception):
    """An executor that cannot be had; the text says why and what to do."""


def here(work: Work, tasks: Sequence[Any], _workers: int) -> Iterator[Any]:
    """In this process, one after the other."""
    return map(work, tasks)


def processes(work: Work, tasks: Sequence[Any], workers: int) -> Iterator[Any]:
    """In processes of this machine. What one task raises ends all: those not yet begun are left out."""
    if workers == 1:
        yield from here(work, tasks, workers)
        return
    # Started afresh: a fork would copy whatever threads the caller has, and not every system has one.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        try:
            for done in as_completed([pool.submit(work, task) for task in tasks]):
                yield done.result()
        finally:
            pool.shutdown(cancel_futures=True)


def joblib(work: Work, tasks: Sequence[Any], workers: int) -> Iterator[Any]:
    """By joblib, with whatever backend it was given; raises ExecutorError where it is missing."""
    module = _optional("joblib")
    found: Iterable[Any] = module.Parallel(n_jobs=workers, return_as="generator_unordered")(
        module.delayed(work)(task) for task in tasks
    )
    yield from found


def dask(work: Work, tasks: Sequence[Any], workers: int) -> Iterator[Any]:
    """By Dask's distributed scheduler: the client that is there, else one of this machine, closed again.

    Raises ExecutorError where it is missing.
    """
    module = _optional("distributed")
    with ExitStack() as stack:
        try:
            client = module.get_client()
        except ValueError:
            own = module.Client(n_workers=workers, threads_per_worker=1, dashboard_address=None)
            client = stack.enter_context(own)
        for future in module.as_completed(client.map(work, tasks, pure=False)):
            yield future.result()


NAMED: dict[str, Executor] = {"processes": processes, "here": here, "joblib": joblib, "dask": dask}


def executor(name: str) -> Executor:
    """The executor of a name, or of a MODULE:CALLABLE of one's own; raises ExecutorError.

    Args:
        name: "processes", "here", "joblib", "dask", or where to find another one.
    """
    if name in NAMED:
        return NAMED[name]
    place, colon, attribute = name.partition(":")
    if not colon:
        raise ExecutorError(f"executor {name} is unknown; known are {', '.join(NAMED)} and MODULE:CALLABLE")
    found = getattr(_optional(place), attribute, None)
    if not callable(found):
        raise ExecutorError(f"executor {name}: {place} has no {attribute} that can be called")
    chosen: Executor = found
    return chosen


def cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _optional(module: str) -> Any:  # noqa: ANN401 - of a library without types
    try:
        return import_module(module)
    except ImportError as error:
        raise ExecutorError(
            f"executor: {module} cannot be loaded ({error}); install it, or leave it out"
        ) from None
