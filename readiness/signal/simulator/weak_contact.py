"""A lead whose strands part but for some kilohms while it is bent: not open, and not sound."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from readiness.signal.simulator.script import Bend
from readiness.signal.simulator.sources import BOLTZMANN, Clock

STEPS_A_SECOND = 20.0
"""Strands find and lose each other while they rub: some levels in a bend (common practice)."""


def bent_kohm(clock: Clock, bends: Iterable[Bend], rng: np.random.Generator) -> np.ndarray:
    """Added resistance of the lead in kilohm, (n,): in each bend levels between a third of its
    highest and the whole, taken at once or over some milliseconds.
    """
    kohm = np.zeros(clock.size)
    for start_s, end_s, highest in bends:
        count = 1 + int(rng.poisson(STEPS_A_SECOND * (end_s - start_s)))
        levels = highest * np.exp(rng.uniform(np.log(1 / 3), 0.0, count))
        levels[rng.integers(count)] = highest
        inner = np.sort(rng.uniform(start_s, end_s, count - 1))
        edges = [start_s, *inner, end_s]
        for level, first, last in zip(levels, edges[:-1], edges[1:], strict=True):
            kohm[clock.index(first) : clock.index(last)] = level
    return _eased(clock, kohm, float(np.exp(rng.uniform(np.log(0.0002), np.log(0.02)))))


def _eased(clock: Clock, x: np.ndarray, over_s: float) -> np.ndarray:
    """Each step of ``x`` taken over ``over_s`` in a straight line."""
    width = max(1, round(over_s * clock.rate_hz))
    sums = np.cumsum(np.concatenate([np.zeros(width), x]))
    return np.maximum(0.0, (sums[width:] - sums[:-width]) / width)


def behind(
    clock: Clock,
    source_uv: np.ndarray,
    kohm: np.ndarray,
    current_na: np.ndarray | float,
    node: tuple[float, float],
    kelvin: float,
    rng: np.random.Generator,
) -> np.ndarray:
    """Voltage of a node of ``node`` (megohm, picofarad) behind ``kohm`` of a changing resistance,
    in microvolts: divider, current that enters behind it, its thermal noise, and R C.
    """
    mohm, pf = node
    x = source_uv / (1 + 1e-3 * kohm / mohm) + current_na * kohm
    noise_uv = 1e6 * np.sqrt(4 * BOLTZMANN * kelvin * 1e3 * kohm * clock.rate_hz / 2)
    x = x + noise_uv * rng.standard_normal(clock.size)
    return _lagged(x, kohm * pf * 1e-9 * clock.rate_hz)


def _lagged(x: np.ndarray, tau: np.ndarray) -> np.ndarray:
    """``x`` behind a low-pass whose time constant, in points, changes on the way."""
    share = 1.0 - np.exp(-1.0 / np.maximum(tau, 1e-3))
    out = x.copy()
    slow = np.flatnonzero(share < 0.999)
    for k in slow[slow > 0]:
        out[k] = out[k - 1] + share[k] * (x[k] - out[k - 1])
    return out
