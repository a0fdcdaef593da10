"""The chance that a kit that is back passes check and bench at its first round, and is complete.
Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

PRIOR_PASSED, PRIOR_FAILED = 4.0, 1.0
"""Beta law before any kit is seen: as if four of five had passed (common practice, no published
source).
"""


@dataclass(frozen=True)
class BenchRecord:
    """Of the kits that came back: how many passed at their first round and were complete, and how
    many were not.
    """

    passed: int = 0
    failed: int = 0

    @property
    def rounds(self) -> int:
        return self.passed + self.failed

    @property
    def mean(self) -> float:
        """Chance of the next kit."""
        passed = PRIOR_PASSED + self.passed
        return passed / (passed + PRIOR_FAILED + self.failed)

    def draw(self, rng: np.random.Generator, draws: int) -> np.ndarray:
        """The chance as it may be, in each draw."""
        law = rng.beta(PRIOR_PASSED + self.passed, PRIOR_FAILED + self.failed, draws)
        return np.asarray(law)
