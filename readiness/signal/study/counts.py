"""Counting for the study: shares with their exact intervals, and the power of the best possible
noise test.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Share:
    """``hits`` of ``total`` with the exact 95 % binomial interval."""

    hits: int
    total: int

    @property
    def value(self) -> float:
        """The share, 0 to 1; not a number for an empty total."""
        return self.hits / self.total if self.total else float("nan")

    @property
    def interval(self) -> tuple[float, float]:
        """Clopper and Pearson, Biometrika 26 (1934) 404-413: beta quantiles at 2.5 and 97.5 %."""
        return clopper_pearson(self.hits, self.total)

    def __str__(self) -> str:
        if not self.total:
            return "-"
        low, high = self.interval
        return f"{100 * self.value:5.1f} % [{100 * low:.1f}, {100 * high:.1f}] of {self.total}"


def share(flags: list[bool]) -> Share:
    """The share of true flags."""
    return Share(sum(flags), len(flags))


def clopper_pearson(hits: int, total: int, level: float = 0.95) -> tuple[float, float]:
    """Exact binomial interval for ``hits`` of ``total``; (0, 1) for an empty total.

    Raises ValueError unless 0 <= hits <= total.
    """
    from scipy.special import betaincinv

    if not 0 <= hits <= total:
        raise ValueError(f"{hits} hits of {total}")
    tail = (1 - level) / 2
    low = float(betaincinv(hits, total - hits + 1, tail)) if hits else 0.0
    high = float(betaincinv(hits + 1, total - hits, 1 - tail)) if hits < total else 1.0
    return low, high


@dataclass(frozen=True)
class NoisePower:
    """What the best possible test of a noise limit does at ``times`` the limit."""

    times: float
    fails: float
    not_passed: float


def noise_power(times: float, dof: float, level: float = 0.05) -> NoisePower:
    """Power of the chi-square test of a variance with ``dof`` degrees of freedom (2 B T, row N17).

    A value fails when the probability of meeting the limit is at most ``level``: nu s^2/L^2 above
    the upper point of chi-square. It passes when that probability is at least 1 - ``level``. The
    true noise is ``times`` the limit L.
    """
    from scipy.special import chdtrc, chdtri

    fails = float(chdtrc(dof, chdtri(dof, level) / times**2))
    not_passed = float(chdtrc(dof, chdtri(dof, 1 - level) / times**2))
    return NoisePower(times, fails, not_passed)
