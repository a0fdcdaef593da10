"""When to order counted stock, and how much: handbook formulas over use and lead time. Pure.

Reorder point and safety stock for use that varies and an order that takes an uncertain time, and
the economic order quantity of Harris (1913), as textbooks of operations give them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from math import ceil, sqrt
from statistics import NormalDist, fmean

CHANCE_RUNS = 2
"""How many runs' worth of weight the spread that chance alone makes has beside the spread that was
seen: two or three past runs alone would tell little of it.
"""
LONE_RUN_DAYS = 182
"""Days from one run to the next where only one is known."""
HOLDING_SHARE = 0.25
"""What it costs to keep a piece for a year, as a share of its price: room, money tied up, pieces
that spoil. From memory, handbooks give 20 to 30 %.
"""


@dataclass(frozen=True)
class RunUse:
    """What one run took of an item: pieces sent out, and of these what never came back."""

    posted_on: date
    sent: float
    used: float


@dataclass(frozen=True)
class UseRate:
    """Use in pieces a day: its mean, and the spread (standard deviation) that a day adds; runs
    follow each other after `gap` days.
    """

    mean: float
    spread: float
    gap: float = 1.0

    @property
    def a_run(self) -> float:
        """Pieces that a run uses up on average."""
        return self.mean * self.gap


@dataclass(frozen=True)
class LeadTime:
    """Days from ordering to having, and their standard deviation."""

    days: float
    spread: float = 0.0

    def at_latest_days(self, service: float) -> int:
        """The whole days after which an order is here for a run, as one of the two things that
        must go well.
        """
        return ceil(self.days + _z(each_of_two(service)) * self.spread - 1e-9)


NO_USE = UseRate(0.0, 0.0)


def use_rate(past: Sequence[RunUse], planned: Iterable[RunUse], a_parcel: float) -> UseRate:
    """Use a day of runs that were and runs that are planned.

    The mean is over all of them. The spread is that of the pieces that past runs sent out, together
    with what chance makes where the number of parcels varies as a Poisson number does.

    Parameters
    ----------
    past, planned
        Runs of which all parcels are out, and runs to come.
    a_parcel : float
        Pieces in one parcel.
    """
    days = _by_day([*past, *planned])
    if not days:
        return NO_USE
    gap = (days[-1].posted_on - days[0].posted_on).days / max(len(days) - 1, 1) or LONE_RUN_DAYS
    used, sent = fmean(run.used for run in days), fmean(run.sent for run in days)
    by_chance = sent * a_parcel
    seen = [run.sent for run in _by_day(past)]
    squares = sum((pieces - fmean(seen)) ** 2 for pieces in seen)
    a_run = (CHANCE_RUNS * by_chance + squares) / (CHANCE_RUNS + max(len(seen) - 1, 0))
    return UseRate(used / gap, sqrt(a_run / gap), gap)


def _by_day(runs: Iterable[RunUse]) -> list[RunUse]:
    """Runs posted on one day count as one."""
    in_order = sorted(runs, key=lambda run: run.posted_on)
    days = ((day, list(group)) for day, group in groupby(in_order, key=lambda run: run.posted_on))
    return [
        RunUse(day, sum(run.sent for run in group), sum(run.used for run in group))
        for day, group in days
    ]


def safety_stock(use: UseRate, lead: LeadTime, service: float) -> float:
    """Pieces kept beyond the mean use of the lead time, so that stock reaches with the probability
    `service`: z sqrt(L s^2 + d^2 sL^2).
    """
    return _z(service) * sqrt(lead.days * use.spread**2 + (use.mean * lead.spread) ** 2)


def reserve_for(use: UseRate, lead: LeadTime, service: float) -> float:
    """The safety stock where the days of use are known and only its size varies: it covers one
    whole run at least, because the parcels of a run leave together, however soon an order would
    come.
    """
    return safety_stock(use, LeadTime(max(lead.days, use.gap)), each_of_two(service))


def each_of_two(service: float) -> float:
    """The probability that each of two independent things must have so that both go well with the
    probability `service`: the order is here in time, and the run takes no more than is here.
    """
    return sqrt(service)


def reorder_point(use: UseRate, lead: LeadTime, service: float) -> float:
    """Pieces at which to order: the mean use of the lead time and the safety stock."""
    return use.mean * lead.days + safety_stock(use, lead, service)


def economic_quantity(a_year: float, an_order: float, keeping: float) -> float:
    """The quantity at which ordering and keeping cost least together: sqrt(2 D K / h).

    Parameters
    ----------
    a_year : float
        Pieces used in a year.
    an_order : float
        What an order costs beside its pieces.
    keeping : float
        What it costs to keep a piece for a year, above 0.
    """
    return sqrt(2 * a_year * an_order / keeping)


def _z(service: float) -> float:
    return NormalDist().inv_cdf(service)
