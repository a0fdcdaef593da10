"""Speed as ratios: reading and scoring a file against bare NumPy, SciPy and edfio on the same bytes
in the same run.

The bare side is ``scipy.signal.welch(x, rate)`` as SciPy sets it. With frames of one second, as the
noise floor needs them, it is three times as quick; each figure's detail tells that stricter ratio
too.
"""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from statistics import median
from time import perf_counter, process_time

import numpy as np

from readiness.signal.limits import Limits
from readiness.signal.readers import read_capture
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Setup, csv_bytes, edf_bytes, simulate

ROWS_HZ = 2048.0  # ten seconds of it are 20,480 rows
SHORT_HZ = 256.0
"""Of so short files the fixed costs are nearly all."""
SHORT_TESTS = ("still", "flex", "lift")
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
    """Time for a CSV capture of 20,480 rows and three columns over ``numpy.loadtxt`` plus one Welch
    spectrum.
    """
    data = csv_bytes(simulate("flex", Setup(rate_hz=ROWS_HZ, low_pass_hz=500.0), kit="SPEED"))
    return _ratio(
        "CSV read and scored / loadtxt + welch",
        1.0,
        "speed.csv",
        data,
        partial(_bare_csv, data, _rows_from(data)),
        rounds,
    )


def edf_ratio(rounds: int) -> Ratio:
    """Time for an EDF capture of the same length over a bare edfio read plus one Welch spectrum."""
    data = edf_bytes(simulate("flex", Setup(rate_hz=ROWS_HZ, low_pass_hz=500.0), kit="SPEED"))
    return _ratio(
        "EDF read and scored / edfio + welch",
        1.0,
        "speed.edf",
        data,
        partial(_bare_edf, data),
        rounds,
    )


def short_ratios(rounds: int) -> tuple[Ratio, Ratio]:
    """Time for a ``still``, a ``flex`` and a ``lift`` together at `SHORT_HZ` over the same bare
    reads and Welch spectra: as CSV, and as EDF.
    """
    made = [simulate(test, Setup(rate_hz=SHORT_HZ), kit="SPEED") for test in SHORT_TESTS]
    csv, edf = [csv_bytes(each) for each in made], [edf_bytes(each) for each in made]
    skips = [_rows_from(data) for data in csv]
    works = (
        lambda: [read_and_score("speed.csv", data) for data in csv],
        lambda: [_bare_csv(data, skip) for data, skip in zip(csv, skips, strict=True)],
        lambda: [read_and_score("speed.edf", data) for data in edf],
        lambda: [_bare_edf(data) for data in edf],
    )
    times = _in_turn(works, rounds)
    return _short("CSV", "loadtxt", *times[:2]), _short("EDF", "edfio", *times[2:])


def _short(kind: str, reader: str, ours: float, bare: float) -> Ratio:
    words = f"Short {kind} files read and scored / {reader} + welch"
    one, one_bare = (1e3 * seconds / len(SHORT_TESTS) for seconds in (ours, bare))
    return Ratio(words, ours / bare, 1.0, "x", f"{one:.1f} ms each, bare {one_bare:.1f} ms")


def _ratio(
    words: str,
    goal: float,
    name: str,
    data: bytes,
    bare: Callable[[int | None], float],
    rounds: int,
) -> Ratio:
    ours, plain, second = _in_turn(
        (partial(read_and_score, name, data), partial(bare, None), partial(bare, int(ROWS_HZ))),
        rounds,
    )
    detail = (
        f"{1e3 * ours:.1f} ms, bare {1e3 * plain:.1f} ms; {ours / second:.2f} x with one-second"
        " frames"
    )
    return Ratio(words, ours / plain, goal, "x", detail)


def start_up(rounds: int) -> Ratio:
    """Seconds that importing the ``score`` command adds to a bare interpreter."""
    bare = median(_run("pass") for _ in range(rounds))
    loaded = median(_run(f"import {START_MODULES}") for _ in range(rounds))
    return Ratio(
        "Start-up of `score` for one file",
        loaded - bare,
        1.0,
        "s",
        f"{loaded:.2f} s, bare {bare:.2f} s",
    )


def _run(code: str) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True)
    return perf_counter() - start


def _rows_from(data: bytes) -> int:
    """How many lines stand above the rows of a CSV of ours."""
    return next(k for k, line in enumerate(data.splitlines()) if line.startswith(b"t_s")) + 1


def _bare_csv(data: bytes, skip: int, frame: int | None = None) -> float:
    return _bare_welch(np.loadtxt(io.BytesIO(data), delimiter=",", skiprows=skip)[:, 1], frame)


def _bare_edf(data: bytes, frame: int | None = None) -> float:
    import edfio

    columns = [signal.data for signal in edfio.read_edf(io.BytesIO(data)).signals]
    return _bare_welch(columns[0], frame)


def _bare_welch(samples: np.ndarray, frame: int | None) -> float:
    """One spectrum as SciPy sets it, or with frames of so many samples."""
    from scipy.signal import welch

    return float(welch(samples, ROWS_HZ, nperseg=frame)[1].sum())


def _in_turn(works: Sequence[Callable[[], object]], rounds: int) -> list[float]:
    """Median processor seconds of each, in turn: a busy machine then troubles all alike."""
    times: list[list[float]] = [[] for _ in works]
    for work in works:
        work()
    for _ in range(rounds):
        for work, into in zip(works, times, strict=True):
            start = process_time()
            work()
            into.append(process_time() - start)
    return [median(each) for each in times]
