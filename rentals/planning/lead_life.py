"""How long lead sets last, in loans and in months, what ends them, what one costs a loan, and when
to buy the next. Pure.

Sets still in use count as far as they have come (they are censored). How many fail over the loans
planned follows from failures a loan so far; because these are few, the number of failures to be
ready for is drawn from the gamma-Poisson law, which knows how little they tell.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import accumulate

from .survival import CONFIDENCE, Lifetime, SurvivalCurve

USUAL_FAILURES, USUAL_LOANS = 0.5, 10.0
"""What is taken for known before any set has been lent: half a failure in ten loans. It weighs as
much as ten loans do, no more.
"""
FEW_ENDED = 5
"""Below so many sets that have ended, nothing is said of how failures grow with age."""


@dataclass(frozen=True)
class LeadSetLife:
    """One set: loans it has gone through, months since it was bought, and why it ended; None for
    one that is in use, empty where nobody said why.
    """

    loans: int
    months: float
    cause: str | None = None
    spare: bool = False

    @property
    def ended(self) -> bool:
        return self.cause is not None

    @property
    def ended_lent(self) -> bool:
        """Whether it ended and had been lent.

        What a loan does to a set is judged by ends and loans. A set that never went out has gone
        through no loan that could have ended it: to count its end would raise the failures a loan
        by what lay on a shelf, and let a set retired for its age ask for several new ones. It stays
        among the lives as one watched for no loan, which says nothing of loans.
        """
        return self.ended and self.loans > 0


@dataclass(frozen=True)
class PlannedLoans:
    """Lead sets that a run takes, and the day by which they are back from it."""

    run: str
    sets: int
    back_on: date


@dataclass(frozen=True)
class SpareNeed:
    """What a run adds: failures expected until its sets are back, the number there will not be more
    than with the probability of the service level, and the spares that lack then.
    """

    run: PlannedLoans
    expected: float
    at_most: int
    lacking: int


@dataclass(frozen=True)
class LoanCost:
    """What a lead set costs a loan; `high` is None where the bound is open."""

    mean: Decimal
    low: Decimal
    high: Decimal | None


class LeadRecord:
    """All lead sets there ever were; at least one."""

    def __init__(self, lives: Iterable[LeadSetLife]) -> None:
        """Raise ValueError where there are none."""
        self.lives = tuple(lives)
        self.by_loans = SurvivalCurve(Lifetime(life.loans, life.ended_lent) for life in self.lives)
        self.by_months = SurvivalCurve(Lifetime(life.months, life.ended) for life in self.lives)

    @cached_property
    def in_use(self) -> tuple[LeadSetLife, ...]:
        """Sets in kits, in repair or missing."""
        return tuple(life for life in self.lives if not (life.ended or life.spare))

    @property
    def spares(self) -> int:
        """Sound sets that lie ready."""
        return sum(life.spare for life in self.lives)

    @property
    def ended(self) -> int:
        """Sets that have ended after they were lent."""
        return self.by_loans.ended

    @property
    def ended_unlent(self) -> int:
        """Sets that have ended and never went out."""
        return sum(life.ended and not life.ended_lent for life in self.lives)

    @property
    def loans(self) -> int:
        """Loans that all sets together have gone through."""
        return sum(life.loans for life in self.lives)

    @property
    def causes(self) -> list[tuple[str, int]]:
        """How many sets ended for each cause, the most frequent first."""
        return Counter(life.cause for life in self.lives if life.cause is not None).most_common()

    @property
    def a_loan(self) -> float:
        """Failures a loan, with the usual ones among them."""
        return (self.ended + USUAL_FAILURES) / (self.loans + USUAL_LOANS)

    def a_loan_between(self, confidence: float = CONFIDENCE) -> tuple[float, float]:
        """Lower and upper bound of the failures a loan, from the gamma law of a rate that is known
        from so many failures in so many loans (Jeffreys).
        """
        from scipy.special import gammaincinv

        known, loans = self.ended + USUAL_FAILURES, self.loans + USUAL_LOANS
        tail = (1 - confidence) / 2
        low, high = gammaincinv(known, tail), gammaincinv(known, 1 - tail)
        return float(low) / loans, float(high) / loans

    @property
    def tells_age(self) -> bool:
        """Whether enough sets have ended to say how long one lasts."""
        return self.ended >= FEW_ENDED

    def cost_a_loan(self, price: Decimal) -> LoanCost | None:
        """The price over the mean life in loans, as far as it was watched; while few sets have
        ended, the price times the failures a loan. None without loans.
        """
        if not self.loans:
            return None
        if not self.tells_age:
            fewest, most = self.a_loan_between()
            return LoanCost(_times(price, self.a_loan), _times(price, fewest), _times(price, most))
        life = self.by_loans.mean_life()
        if not life.mean:
            return None
        high = _share(price, life.low) if life.low else None
        return LoanCost(_share(price, life.mean), _share(price, life.high), high)

    def expected_failures(self, loans: int) -> float:
        """Failures to expect over further loans, spread evenly over the sets in use; of sets as old
        as those that ended, with the share that the curve says.
        """
        if not self.in_use:
            return self.a_loan * loans
        each = loans / len(self.in_use)
        return sum(self._failing(life, each) for life in self.in_use)

    def spare_needs(self, runs: Sequence[PlannedLoans], service: float) -> list[SpareNeed]:
        """What the runs take, in their order, each with all before it."""
        needs = []
        for run, sets in zip(runs, accumulate(run.sets for run in runs), strict=True):
            expected = self.expected_failures(sets)
            at_most = self.at_most(expected, service)
            lacking = max(at_most - self.spares, 0)
            needs.append(SpareNeed(run, expected, at_most, lacking))
        return needs

    def at_most(self, expected: float, service: float) -> int:
        """The number of failures that is not exceeded with a probability, where so many are
        expected: the quantile of a Poisson number whose mean is known from few failures only
        (gamma-Poisson, that is negative binomial).
        """
        known = self.ended + USUAL_FAILURES
        miss = known / (known + expected)
        mass = total = miss**known
        number = 0
        while total < service:
            number += 1
            mass *= (known + number - 1) / number * (1 - miss)
            total += mass
        return number

    def _failing(self, life: LeadSetLife, loans: float) -> float:
        """The chance that one set fails within further loans."""
        curve = self.by_loans
        known = self.tells_age and life.loans + loans <= curve.seen_until
        if known and curve.share(life.loans):
            return 1 - curve.share_beyond(life.loans, loans)
        return 1.0 - float((1 - self.a_loan) ** loans)


def buy_by(needs: Iterable[SpareNeed]) -> SpareNeed | None:
    """The first run after which spares may lack: new sets must be here when its sets are back."""
    return next((need for need in needs if need.lacking), None)


def _times(price: Decimal, failures: float) -> Decimal:
    return price * Decimal(str(failures))


def _share(price: Decimal, loans: float) -> Decimal:
    return price / Decimal(str(loans))
