"""Peak of memory of a process, whatever the system."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

STATUS = Path("/proc/self/status")


@contextmanager
def peak_memory() -> Iterator[dict[str, float]]:
    """Fills ``{"mb": ...}`` at its end: the process's own high-water mark on Linux, traced
    allocations elsewhere.

    ``getrusage`` is of no use here: a process inherits the high-water mark of the one that started
    it.
    """
    told = {"mb": 0.0}
    if not STATUS.exists():
        tracemalloc.start()
    try:
        yield told
    finally:
        if STATUS.exists():
            line = next(
                line for line in STATUS.read_text().splitlines() if line.startswith("VmHWM")
            )
            told["mb"] = int(line.split()[1]) / 1024
        else:
            told["mb"] = tracemalloc.get_traced_memory()[1] / 2**20
            tracemalloc.stop()
