"""What the kits of one run share: a strike of the post, a course that ends later. Pure.

Each run has a factor on how readily its kits come back, from a gamma law with mean 1 and variance
`shared` (Clayton, Biometrika 65, 1978: shared frailty). The curve over all runs is then what
Kaplan-Meier estimates whatever the factors do, and only kits of one run depend on each other.
`shared` is estimated from past runs in two steps: the curve first, then the dependence given it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SHARED_GRID = np.array([0.003, 0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.2])
"""Values of the variance that are weighed against each other."""
PRIOR_SHARED = 0.35
"""Mean of the exponential law that weighs them before any run is seen: a run's factor is then
mostly between a half and two (common practice, no published source).
"""


@dataclass(frozen=True)
class RunTable:
    """Past loans by run: how long each lasted on the scale of minus the logarithm of the share
    still out (`waited`), and whether it came back then.
    """

    waited: np.ndarray
    returned: np.ndarray
    run: np.ndarray


def weights_of_shared(table: RunTable) -> np.ndarray:
    """How probable each value of the grid is, given the past runs."""
    from scipy.special import gammaln

    steps = np.gradient(SHARED_GRID)
    logs = np.log(steps) - SHARED_GRID / PRIOR_SHARED
    if len(table.run):
        _, place = np.unique(table.run, return_inverse=True)
        back = np.bincount(place, weights=table.returned)
        shape = 1 / SHARED_GRID[:, None]
        grown = np.exp(np.minimum(SHARED_GRID[:, None] * table.waited, 50))
        waited = np.array([np.bincount(place, weights=row - 1) for row in grown])
        rising = SHARED_GRID * (table.waited * table.returned).sum()
        logs = (
            logs
            + rising
            + np.sum(
                gammaln(shape + back)
                - gammaln(shape)
                + back * np.log(SHARED_GRID)[:, None]
                - (shape + back) * np.log1p(waited),
                axis=1,
            )
        )
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def design_effect(run: np.ndarray, shared: np.ndarray | float) -> np.ndarray:
    """How many times more uncertain a mean of loans is for coming in runs (Kish's design effect).

    Two loans of a run agree by Kendall's tau of Clayton's law, shared / (shared + 2).
    """
    agreement = np.asarray(shared) / (np.asarray(shared) + 2)
    if not len(run):
        return np.ones_like(agreement)
    sizes = np.unique(run, return_counts=True)[1].astype(float)
    return np.asarray(1 + ((sizes**2).sum() / sizes.sum() - 1) * agreement)


def unshared_wait(waited: np.ndarray, shared: np.ndarray) -> np.ndarray:
    """From the wait over all runs to that of a run whose factor is 1."""
    return np.asarray(np.expm1(np.minimum(waited * shared, 50)) / shared)


def draw_factors(
    returned: int, waited: np.ndarray, shared: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """The factor of a run, one a draw, given what came back of it already.

    Parameters
    ----------
    returned : int
        Kits of the run that are back.
    waited : array of draws
        Sum of the waits of all its kits, by `unshared_wait`.
    """
    shape = 1 / shared
    return np.asarray(rng.standard_gamma(shape + returned) / (shape + waited))
