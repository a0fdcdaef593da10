"""Shares of a count, with their exact intervals."""

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
