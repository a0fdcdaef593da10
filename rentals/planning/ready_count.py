"""How many of some kits will be ready, each with its own chance: the Poisson-binomial law, mixed
over draws of what is not known for sure. Pure.

The law is exact: the product of the kits' generating functions at the roots of unity, turned back
by one Fourier transform (as in Hong, Computational Statistics & Data Analysis 59, 2013). Of many
kits only numbers near the mean can come out. Then as many roots do as there are such numbers, and
each draw's law is put back around its own mean; what is left out lies below the rounding, by
Bernstein's inequality (Boucheron, Lugosi and Massart, Concentration Inequalities, 2013, 2.8).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

ROUNDING = 1e-13
LEFT_OUT = 1e-15
"""Chance of all numbers that a draw's law leaves out."""


def count_law(chances: np.ndarray, counts: Sequence[int] | None = None) -> np.ndarray:
    """Chance of each number of successes from 0 on.

    Parameters
    ----------
    chances : array, draws x kinds
        Chance of one of each kind, in each of the draws; the law is the mean over the draws.
    counts : sequence of int, optional
        How many there are of each kind; one each unless given.
    """
    chances, many = _by_kind(chances, counts)
    total = int(many.sum())
    reach = _reach(float(((chances * (1 - chances)) @ many).max()))
    if 2 * reach > total:
        return _law(_transform(chances, many, _roots(total)).mean(axis=0), total)
    return _law_near(chances, many, reach)


def _reach(variance: float) -> int:
    """How far from its mean a number of successes of at most this variance comes out."""
    log = np.log(2 / LEFT_OUT)
    return int(np.ceil(log / 3 + np.sqrt((log / 3) ** 2 + 2 * log * variance)))


def _law_near(chances: np.ndarray, many: np.ndarray, reach: int) -> np.ndarray:
    """The law where no draw's number comes out further from its mean than `reach`."""
    total, window = int(many.sum()), 2 * (reach + 1)
    wrapped = np.fft.irfft(_transform(chances, many, _roots(window - 1)), window)
    law = np.zeros(total + 1)
    for own, middle in zip(wrapped, np.rint(chances @ many).astype(int), strict=True):
        numbers = np.arange(max(middle - reach, 0), min(middle + reach, total) + 1)
        law[numbers] += own[numbers % window]
    return _rounded(law / len(chances))


@dataclass(frozen=True)
class KindGain:
    """What it would change if one of a kind were sure: the chance of enough then."""

    enough_if_sure: float


def gains_if_sure(
    chances: np.ndarray, counts: Sequence[int], sure: np.ndarray, need: int
) -> list[KindGain]:
    """For each kind, the chance of `need` successes or more with one of it at its `sure` chance.

    Parameters
    ----------
    chances, sure : arrays, draws x kinds
        Chance as it is, and of the one that is chased or taken first.
    counts : sequence of int
        How many there are of each kind, at least one.
    need : int
        Successes that suffice.
    """
    chances, many = _by_kind(chances, counts)
    total = int(many.sum())
    root = _roots(total)
    whole = _transform(chances, many, root)
    gains = []
    for kind in range(chances.shape[1]):
        was = 1 + np.outer(chances[:, kind], root - 1)
        then = 1 + np.outer(sure[:, kind], root - 1)
        law = _law((whole / was * then).mean(axis=0), total)
        gains.append(KindGain(at_least(law, need)))
    return gains


def at_least(law: np.ndarray, need: int) -> float:
    """Chance of `need` or more."""
    if need <= 0:
        return 1.0
    return float(min(law[need:].sum(), 1.0))


def spares_for(law: np.ndarray, need: int, goal: float) -> int:
    """Fewest kits, ready for sure, that raise the chance of enough to the goal."""
    return next(spares for spares in range(need + 1) if at_least(law, need - spares) >= goal)


def _by_kind(chances: np.ndarray, counts: Sequence[int] | None) -> tuple[np.ndarray, np.ndarray]:
    chances = np.atleast_2d(np.asarray(chances, float))
    many = np.ones(chances.shape[1], int) if counts is None else np.asarray(counts, int)
    # A chance of exactly one half has a root on the circle, which could not be divided out.
    return np.where(chances == 0.5, 0.5 + 1e-12, chances), many


def _roots(total: int) -> np.ndarray:
    turns = np.arange((total + 1) // 2 + 1) / (total + 1)
    return np.asarray(np.exp(-2j * np.pi * turns))


def _transform(chances: np.ndarray, many: np.ndarray, root: np.ndarray) -> np.ndarray:
    """Product of the generating functions at half of the roots of unity, draw by draw."""
    product = np.ones((len(chances), len(root)), complex)
    for chance, count in zip(chances.T, many, strict=True):
        if chance.any():
            factor = 1 + np.outer(chance, root - 1)
            product *= factor if count == 1 else factor**count
    return product


def _law(transform: np.ndarray, total: int) -> np.ndarray:
    return _rounded(np.fft.irfft(transform[: (total + 1) // 2 + 1], total + 1))


def _rounded(law: np.ndarray) -> np.ndarray:
    # What the transform leaves of a chance that is nothing is below its rounding.
    return np.where(law < ROUNDING, 0, np.minimum(law, 1))
