"""The one way to measure: CPU seconds, rounds in which every contestant runs once, medians of the rounds."""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np

KERNEL_LENGTH, KERNEL_REPEATS = 4096, 4000


def cpu_s(work: Callable[[], object]) -> float:
    """CPU seconds of one call, all threads of the process counted.

    Args:
        work: what is called.
    """
    start = time.process_time()
    work()
    return time.process_time() - start


def medians_s(contestants: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median CPU seconds of each, over rounds in which each runs once, after one call to warm it up.

    Args:
        contestants: what is called, by name.
        rounds: how many, 1 at least.
    """
    for work in contestants.values():
        work()
    seen: dict[str, list[float]] = {name: [] for name in contestants}
    for _ in range(rounds):
        for name, work in contestants.items():
            seen[name].append(cpu_s(work))
    return {name: statistics.median(values) for name, values in seen.items()}


def reference_kernel() -> float:
    """A fixed piece of work that fits the nearest cache: y = 0.999 y + x, four thousand times."""
    x = np.linspace(0.0, 1.0, KERNEL_LENGTH)
    y = np.zeros(KERNEL_LENGTH)
    for _ in range(KERNEL_REPEATS):
        np.multiply(y, 0.999, out=y)
        np.add(y, x, out=y)
    return float(y[-1])


def exponent(sizes: list[int], seconds: list[float]) -> float:
    """Slope of log time over log size, least squares.

    Args:
        sizes: in any unit, above 0, two different ones at least.
        seconds: of each size [s], above 0.
    """
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


def machine() -> dict[str, object]:
    """What the figures were taken on."""
    model = platform.processor()
    info = Path("/proc/cpuinfo")
    if info.exists():
        for line in info.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                model = line.partition(":")[2].strip()
                break
    return {
        "processor": model,
        "cores": os.cpu_count(),
        "system": platform.system(),
        "architecture": platform.machine(),
        "python": platform.python_version(),
    }
