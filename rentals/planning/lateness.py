"""What is known of how late kits come back: loans with their lateness in days from the due day
(negative is early), counted day by day. Pure.

A loan still out counts for the days on which it could have come back and did not (it is censored
at today). A kit that was written off is an end of its own kind on the day it was given up: from
then on it cannot come back, so the curve of returns keeps mass at "never".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

EARLIEST, LATEST = -21, 70
"""Days of lateness that are told apart; what comes earlier counts as the first of them."""
DAYS = LATEST - EARLIEST + 1
LONG_LOAN_DAYS = 84
"""Twelve weeks: half a year's course is longer, a term's block shorter (common practice, no
published source).
"""

PRIOR_LOANS = 4.0
"""Weight of the usual curve, in loans. Four loans leave the share that is back on a day open by
plus or minus 0.2, which is how far practices differ (common practice, no published source).
"""
PRIOR_MIDDLE, PRIOR_SCALE, PRIOR_NEVER = -1.0, 4.0, 0.02
"""The usual curve: half are back a day before the due day, nine of ten a week after it, and of
fifty kits one never comes back. A logistic law, as it has tails on both sides.
"""
BACK_MIDDLE, BACK_SCALE, BACK_NEVER = 4.0, 1.2, 0.01
"""The usual way back of a posted kit: half are there after four days, nine of ten after a week, one
of a hundred never (common practice, no published source).
"""


@dataclass(frozen=True)
class PastLoan:
    """A loan that went out. `run` groups loans that share what delays them; `ended_on` is the day
    the kit came back, or was given up where `lost`; None while it is still out. `sent_back_on` is
    the day on which the student posted it, where that is known.
    """

    run: int
    posted_on: date
    due_on: date
    ended_on: date | None = None
    lost: bool = False
    abroad: bool = False
    sent_back_on: date | None = None

    @property
    def way_back(self) -> PastLoan | None:
        """The same kit counted from the day its student posted it; None where that is not known."""
        if self.sent_back_on is None:
            return None
        return replace(self, due_on=self.sent_back_on, sent_back_on=None)

    @property
    def cell(self) -> tuple[bool, bool]:
        """Which loans it is likened to first: of the same destination, then of the same length."""
        return self.abroad, (self.due_on - self.posted_on).days > LONG_LOAN_DAYS


@dataclass(frozen=True)
class LoanTable:
    """Past loans as columns. `last` is the place on the axis of days on which each ended or was
    watched last; `due` the due day as days from the middle of them all.
    """

    last: np.ndarray
    returned: np.ndarray
    lost: np.ndarray
    run: np.ndarray
    due: np.ndarray
    cells: tuple[tuple[bool, bool], ...]
    middle: date | None

    def __len__(self) -> int:
        return len(self.last)

    @property
    def lateness(self) -> np.ndarray:
        """Days from the due day at which each ended or was watched last."""
        return self.last + EARLIEST


def loan_table(loans: Sequence[PastLoan], today: date) -> LoanTable:
    """Loans as columns, those left out that have no day behind them on which they could have ended.

    Today is not over, so a kit still out was watched until yesterday.
    """
    yesterday = today - timedelta(days=1)
    pairs = [(loan, ((loan.ended_on or yesterday) - loan.due_on).days) for loan in loans]
    pairs = [(loan, late) for loan, late in pairs if loan.ended_on is not None or late >= EARLIEST]
    beyond = np.array([late > LATEST for _, late in pairs], bool)
    ended = np.array([loan.ended_on is not None for loan, _ in pairs], bool) & ~beyond
    gone = np.array([loan.lost for loan, _ in pairs], bool)
    ordinals = np.array([loan.due_on.toordinal() for loan, _ in pairs], float)
    middle = round(float(ordinals.mean())) if len(pairs) else None
    last = np.array([late - EARLIEST for _, late in pairs], int)
    return LoanTable(
        last=np.clip(last, 0, DAYS - 1),
        returned=ended & ~gone,
        lost=ended & gone,
        run=np.array([loan.run for loan, _ in pairs], int),
        due=ordinals - middle if middle else ordinals,
        cells=tuple(loan.cell for loan, _ in pairs),
        middle=date.fromordinal(middle) if middle else None,
    )


@dataclass(frozen=True)
class DayCounts:
    """Day by day: how many came back, were given up, and could still do either."""

    returned: np.ndarray
    lost: np.ndarray
    at_risk: np.ndarray


def day_counts(table: LoanTable, which: np.ndarray, weight: np.ndarray) -> DayCounts:
    """Counts of those loans that `which` picks; each is `weight` at risk as much as usual."""
    last = table.last[which]

    def each_day(values: np.ndarray) -> np.ndarray:
        return np.bincount(last, weights=values.astype(float), minlength=DAYS)

    at_risk = np.cumsum(each_day(weight[which])[::-1])[::-1]
    return DayCounts(each_day(table.returned[which]), each_day(table.lost[which]), at_risk)


@dataclass(frozen=True)
class UsualCurve:
    """Day by day: share that comes back, is given up, and is left after the day."""

    returned: np.ndarray
    lost: np.ndarray
    left: np.ndarray


def usual_curve() -> UsualCurve:
    """What is assumed of a practice nobody knows yet."""
    return _logistic(PRIOR_MIDDLE, PRIOR_SCALE, PRIOR_NEVER)


def usual_way_back() -> UsualCurve:
    """What is assumed of kits that are known to be on their way, from the day they were posted."""
    return _logistic(BACK_MIDDLE, BACK_SCALE, BACK_NEVER)


def _logistic(middle: float, scale: float, never: float) -> UsualCurve:
    edges = np.arange(EARLIEST, LATEST + 1) + 0.5
    back = (1 - never) / (1 + np.exp(-(edges - middle) / scale))
    returned = np.diff(back, prepend=0)
    # Kits are given up from a month after the due day on, evenly until the end of the axis.
    late = np.arange(EARLIEST, LATEST + 1) >= 30
    lost = np.where(late, never / 2 / late.sum(), 0)
    return UsualCurve(returned, lost, 1 - np.cumsum(returned + lost))
