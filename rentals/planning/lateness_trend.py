"""Whether kits have come back later, or earlier, with time, and by how much. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rentals.planning.hazard_slope import hazard_slope
from rentals.planning.lateness import LoanTable

FEWEST_RUNS = 3
"""Fewer groups of loans show a difference between two of them, not a trend."""
CLEAR = 3.84
"""Chi-square on one degree of freedom that chance alone reaches in 5 %."""
PRIOR_SPREAD = 1.0
"""Standard deviation, before any loan is seen, of the logarithm of the factor by which returns
quicken or slow from the first due day to the last: a factor of nearly three either way in two of
three practices (common practice, no published source).
"""


@dataclass(frozen=True)
class LatenessTrend:
    """The change over the time of all loans: logarithm of the factor on how readily kits come
    back, its standard deviation, and the test that it is nothing. `span` is that time in days.
    """

    slope: float
    spread: float
    chi_square: float
    span: float

    @property
    def is_clear(self) -> bool:
        """Whether chance alone would show as much in less than 5 %."""
        return self.chi_square > CLEAR

    def place(self, due: np.ndarray) -> np.ndarray:
        """Due days (from the middle) in units of the whole time."""
        return due / self.span


NO_TREND = LatenessTrend(0.0, 0.0, 0.0, 1.0)


def measured_trend(table: LoanTable) -> LatenessTrend:
    """The slope by Cox's model, each loan taken alone; `shared_trend` allows for their runs."""
    if len(np.unique(table.run)) < FEWEST_RUNS:
        return NO_TREND
    span = float(np.ptp(table.due))
    if span <= 0:
        return NO_TREND
    # Within a kind: else more parcels from abroad of late would look like a trend.
    kinds = [2 * abroad + long for abroad, long in table.cells]
    found = hazard_slope(
        table.last.tolist(), table.returned.tolist(), (table.due / span).tolist(), kinds
    )
    if not np.isfinite(found.error):
        return NO_TREND
    return LatenessTrend(found.slope, found.error, found.chi_square, span)


def shared_trend(found: LatenessTrend, design: float) -> LatenessTrend:
    """The slope with its uncertainty where loans of a run are delayed together, drawn towards none.

    `design` is how many times more uncertain a mean of these loans is than of as many that are
    independent. A normal prior around nothing keeps a slope small that few loans show.
    """
    if found is NO_TREND:
        return found
    variance = found.spread**2 * design
    share = PRIOR_SPREAD**2 / (PRIOR_SPREAD**2 + variance)
    return LatenessTrend(
        found.slope * share, float(np.sqrt(share * variance)), found.chi_square / design, found.span
    )
