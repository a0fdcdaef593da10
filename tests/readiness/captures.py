"""Capture files for tests, from the simulator: the same bytes every time."""

from __future__ import annotations

from datetime import datetime
from functools import cache

import numpy as np
from django.core.files.uploadedfile import SimpleUploadedFile

from readiness.signal.catalogue import CATALOGUE, in_bench_order
from readiness.signal.readers import write_csv, write_edf
from readiness.signal.simulator.captures import Fault, Setup, simulate

DEFAULT = ("still", "flex", "lift")


@cache
def _simulated(test: str, seed: int, faults: tuple[Fault, ...]):
    """A capture in the usual set-up: sound kit, ordinary room, an operator who follows the
    calls. Its noise is that of no other test, nor of another seed.
    """
    rng = np.random.default_rng([seed, in_bench_order(CATALOGUE).index(test)])
    return simulate(test, Setup(), faults, rng).capture


def capture_bytes(
    test: str,
    *,
    kit: str | None = None,
    seed: int = 1,
    faults: tuple[Fault, ...] = (),
    battery_v: float | None = 2.7,
    taken: datetime | None = None,
    edf: bool = False,
    drop: tuple[str, ...] = (),
) -> bytes:
    """Bytes of a capture. Another `seed` gives another recording; `drop` leaves header lines out
    (CSV only).
    """
    made = _simulated(test, seed, faults)
    facts = {"test": test, "kit": kit, "mains_hz": 50.0, "battery_v": battery_v, "taken": taken}
    if edf:
        return write_edf(np.clip(made.emg.samples, -4999, 4999), made.rate_hz, **facts)
    step = made.emg.resolution
    text = write_csv(
        made.emg.samples, made.rate_hz, resolution_uv=step, with_time=False, **facts
    ).decode()
    lines = [
        line for line in text.splitlines() if not any(line.startswith(f"# {key}:") for key in drop)
    ]
    return "\n".join([*lines, ""]).encode()


def capture_file(name: str, data: bytes) -> SimpleUploadedFile:
    """Bytes as a file of an upload."""
    return SimpleUploadedFile(name, data)


def kit_files(
    kit: str, *, seed: int = 1, faults: tuple[Fault, ...] = (), **facts: object
) -> list[SimpleUploadedFile]:
    """The three captures of the default plan for one kit."""
    return [
        capture_file(
            f"{kit} {test}.csv", capture_bytes(test, kit=kit, seed=seed, faults=faults, **facts)
        )
        for test in DEFAULT
    ]


INTERMITTENT_B = (Fault("intermittent_lead", 0.05, "B", count=5),)
