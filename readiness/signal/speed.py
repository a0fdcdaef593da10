"""Speed as ratios: reading and scoring a file against bare NumPy, SciPy and edfio on the same bytes in the same run."""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from statistics import median
from time import perf_counter

import numpy as np

from readiness.signal.limits import Limits
from readiness.signal.readers import read_capture
from readiness.signal.score import score_capture
from readiness.signal.simulate import Bench, csv_bytes, edf_bytes, simulate

ROWS_HZ = 2048.0  # ten seconds of it are 20,480 rows
START_MODULES = "django.core.management.base, readiness.management.commands.score"


@dataclass(frozen=True)
class Ratio:
    """One figure beside its goal; ``at_least`` says which side of ``goal`` is good."""

    words: str
    value: float
    goal: float
    unit: str
    detail: str
    at_least: bool = False

    @property
    def met(self) -> bool:
        """Whether the figure meets its goal."""
        return self.value >= self.goal if self.at_least else self.value <= self.goal


def read_and_score(name: str, data: bytes) -> str:
    """What one file costs from bytes to verdict."""
    return score_capture(read_capture(name, data), Limits()).verdict


def csv_ratio(rounds: int) -> Ratio:
    """Time for a CSV capture of 20,480 rows and three columns over ``numpy.loadtxt`` plus one Welch spectrum."""
    data = csv_bytes(simulate("flex", Bench(rate_hz=ROWS_HZ, low_pass_hz=500.0), kit="SPEED"))
    skip = next(k for k, line in enumerate(data.splitlines()) if line.startswith(b"t_s")) + 1
    ours, bare = _paired(partial(read_and_score, "speed.csv", data), partial(_bare_csv, data, skip), rounds)
    return Ratio("CSV read and scored / loadtxt + welch", ours / bare, 2.0, "x", _ms(ours, bare))


def edf_ratio(rounds: int) -> Ratio:
    """Time for an EDF capture of the same length over a bare edfio read plus one Welch spectrum."""
    data = edf_bytes(simulate("flex", Bench(rate_hz=ROWS_HZ, low_pass_hz=500.0), kit="SPEED"))
    ours, bare = _paired(partial(read_and_score, "speed.edf", data), partial(_bare_edf, data), rounds)
    return Ratio("EDF read and scored / edfio + welch", ours / bare, 3.0, "x", _ms(ours, bare))


def start_up(rounds: int) -> Ratio:
    """Seconds that importing the ``score`` command adds to a bare interpreter."""
    bare = median(_run("pass") for _ in range(rounds))
    loaded = median(_run(f"import {START_MODULES}") for _ in range(rounds))
    return Ratio("Start-up of `score` for one file", loaded - bare, 1.0, "s", f"{loaded:.2f} s, bare {bare:.2f} s")


def _run(code: str) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True)
    return perf_counter() - start


def _bare_csv(data: bytes, skip: int) -> float:
    from scipy.signal import welch

    rows = np.loadtxt(io.BytesIO(data), delimiter=",", skiprows=skip)
    return float(welch(rows[:, 1], ROWS_HZ, nperseg=int(ROWS_HZ))[1].sum())


def _bare_edf(data: bytes) -> float:
    import edfio
    from scipy.signal import welch

    columns = [signal.data for signal in edfio.read_edf(io.BytesIO(data)).signals]
    return float(welch(columns[0], ROWS_HZ, nperseg=int(ROWS_HZ))[1].sum())


def _paired(ours: Callable[[], object], bare: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Median seconds of each, taken in turn so that a busy machine troubles both alike."""
    ours(), bare()
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for work, into in zip((ours, bare), times, strict=True):
            start = perf_counter()
            work()
            into.append(perf_counter() - start)
    return median(times[0]), median(times[1])


def _ms(ours: float, bare: float) -> str:
    return f"{1e3 * ours:.1f} ms, bare {1e3 * bare:.1f} ms"
