"""The demo's capture files: real files of simulated benches, made on all cores."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime
from multiprocessing import get_context

import numpy as np

from readiness.signal.simulator.captures import Fault, Setup, csv_bytes, edf_bytes, simulate

TESTS = ("still", "flex", "lift")


@dataclass(frozen=True)
class CaptureOrder:
    """One capture file to be made. `seed` makes it the same every time."""

    kit: str
    test: str
    taken: datetime
    seed: int
    noise_nv: float = 32.0
    volts: float = 2.86
    faults: tuple[Fault, ...] = ()
    edf: bool = False

    @property
    def name(self) -> str:
        """File name as an operator would give it."""
        ending = "edf" if self.edf else "csv"
        return f"{self.taken:%Y-%m-%d} {self.kit} {self.test}.{ending}"


def make(order: CaptureOrder) -> bytes:
    """The bytes of one capture file."""
    setup = Setup(
        noise_density_nv=order.noise_nv,
        emf_v=order.volts + 0.0125,
        seed=order.seed,
        rate_hz=1024.0,
    )
    simulated = simulate(
        order.test, setup, order.faults, np.random.default_rng(order.seed), kit=order.kit
    )
    simulated = replace(simulated, capture=replace(simulated.capture, taken=order.taken))
    return edf_bytes(simulated) if order.edf else csv_bytes(simulated)


def make_all(orders: Sequence[CaptureOrder]) -> list[bytes]:
    """The bytes of many capture files, in order."""
    # Spawned, not forked: a fork would share the database connection.
    with ProcessPoolExecutor(os.cpu_count() or 1, mp_context=get_context("spawn")) as pool:
        return list(pool.map(make, orders, chunksize=4))
