"""The chance that a kit comes back by a day, given how late it already is, with all that is not
known for sure carried along as draws. Pure.

Three things are uncertain, and each is drawn anew in every draw:

- the curve itself: each day's chance to come back is drawn from a beta law around Kaplan-Meier's
  estimate (the beta process of Hjort, Annals of Statistics 18, 1990), with the usual curve mixed
  in at the weight of a few loans. Where loans depend on each other they count for fewer;
- what the kits of one run share (`shared_lateness`);
- a trend over the years (`lateness_trend`).

Loans abroad, and long loans, have a curve of their own as far as their loans carry it: the curve
of their kind is drawn around that of the whole fleet, which counts as `POOLED_LOANS` loans. A
share seen in 15 loans is uncertain by 0.13, so fewer tell no difference worth having; a kind
without loans keeps the fleet's curve, and one with hundreds has its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from rentals.planning.lateness import (
    DAYS,
    EARLIEST,
    PRIOR_LOANS,
    DayCounts,
    LoanTable,
    PastLoan,
    UsualCurve,
    day_counts,
    loan_table,
    usual_curve,
    usual_way_back,
)
from rentals.planning.lateness_trend import LatenessTrend, measured_trend, shared_trend
from rentals.planning.shared_lateness import (
    SHARED_GRID,
    RunTable,
    design_effect,
    draw_factors,
    unshared_wait,
    weights_of_shared,
)

POOLED_LOANS = 15.0
_FEW = 3e-4
"""Loans on a day that are as good as none."""


@dataclass(frozen=True)
class DrawnCurves:
    """Curves of one kind of loan, draws x days: the chance to come back on a day if it can still,
    and to be given up on it.
    """

    returned: np.ndarray
    lost: np.ndarray

    @property
    def waited(self) -> np.ndarray:
        """Minus the logarithm of the share that did not come back up to each day."""
        return np.asarray(np.cumsum(-np.log1p(-self.returned), axis=1))


@dataclass(eq=False)
class LatenessLaw:
    """All that past loans say of lateness, as draws. Made by `learn_lateness`. Laws are told apart
    by which object they are.
    """

    today: date
    table: LoanTable
    trend: LatenessTrend
    shared: np.ndarray
    slopes: np.ndarray
    fleet: DrawnCurves
    rng: np.random.Generator
    on_its_way: LatenessLaw | None = None
    _kinds: dict[tuple[bool, bool], DrawnCurves] = field(default_factory=dict)
    _factors: dict[int, np.ndarray] = field(default_factory=dict)

    def from_start(self, rng: np.random.Generator | None = None) -> LatenessLaw:
        """The same law with nothing drawn from it yet, where nothing was drawn from this one; or
        with the draws of another generator.
        """
        rng = deepcopy(self.rng) if rng is None else rng
        way = self.on_its_way.from_start(rng) if self.on_its_way else None
        return replace(self, rng=rng, on_its_way=way, _kinds={}, _factors={})

    def back_by(self, loan: PastLoan, day: date) -> np.ndarray:
        """Chance, in each draw, that a kit still out is back on or before a day.

        Given that it was not back yesterday; today counts as still to come. A kit that its
        student has posted is judged by how long parcels take from there.
        """
        if self.on_its_way and (posted := loan.way_back):
            return self.on_its_way.back_by(posted, day)
        start = max((self.today - loan.due_on).days - EARLIEST, 0)
        stop = min((day - loan.due_on).days - EARLIEST + 1, DAYS)
        if stop <= start:
            return np.zeros(len(self.shared))
        curves = self._curves(loan.cell)
        pace = self._pace(loan.due_on)
        waits = unshared_wait(
            curves.waited[:, max(start - 1, 0) : stop] * pace, self.shared[:, None]
        )
        if start == 0:
            waits = np.concatenate([np.zeros((len(waits), 1)), waits], axis=1)
        still_out = np.exp(-self._factor(loan.run)[:, None] * (waits - waits[:, :1]))
        given_up = np.cumprod(1 - curves.lost[:, start:stop], axis=1)
        lasting = np.concatenate([np.ones((len(waits), 1)), given_up[:, :-1]], axis=1)
        return np.asarray(np.sum((still_out[:, :-1] - still_out[:, 1:]) * lasting, axis=1))

    def _pace(self, due_on: date) -> np.ndarray:
        """Factor of the trend on how readily kits due on a day come back."""
        middle = self.table.middle
        if middle is None:
            return np.ones((len(self.shared), 1))
        place = self.trend.place(np.array([(due_on - middle).days], float))
        return np.asarray(np.exp(self.slopes[:, None] * np.clip(place, -1, 1)))

    def _curves(self, cell: tuple[bool, bool]) -> DrawnCurves:
        if cell not in self._kinds:
            self._kinds[cell] = _drawn_kind(self, cell)
        return self._kinds[cell]

    def _factor(self, run: int) -> np.ndarray:
        if run not in self._factors:
            self._factors[run] = self._drawn_factor(run)
        return self._factors[run]

    def _drawn_factor(self, run: int) -> np.ndarray:
        own = np.flatnonzero(self.table.run == run)
        waited = np.zeros(len(self.shared))
        for loan in own:
            curves = self._curves(self.table.cells[loan])
            place = self.trend.place(self.table.due[[loan]])
            wait = curves.waited[:, self.table.last[loan]] * np.exp(self.slopes * place)
            waited += unshared_wait(wait, self.shared)
        back = int(self.table.returned[own].sum())
        return draw_factors(back, waited, self.shared, self.rng)


def learn_lateness(
    loans: Sequence[PastLoan], today: date, rng: np.random.Generator, draws: int = 400
) -> LatenessLaw:
    """What past loans, and those still out, say of how late kits come back.

    Parameters
    ----------
    loans : sequence of PastLoan
        All that were ever posted, the ones still out among them.
    draws : int
        How many curves are drawn; the chances wander by about a half divided by its root.
    """
    law = _learnt(loans, today, rng, draws, usual_curve())
    posted = [back for loan in loans if (back := loan.way_back)]
    if any(loan.ended_on is None for loan in posted):
        law.on_its_way = _learnt(posted, today, rng, draws, usual_way_back())
    return law


def _learnt(
    loans: Sequence[PastLoan],
    today: date,
    rng: np.random.Generator,
    draws: int,
    usual: UsualCurve,
) -> LatenessLaw:
    table = loan_table(loans, today)
    found = measured_trend(table)
    place = found.place(table.due)
    everything = np.ones(len(table), bool)
    pace = np.exp(found.slope * place)
    counts = day_counts(table, everything, pace)
    weights = weights_of_shared(_waits(table, counts, usual, pace))
    shared = rng.choice(SHARED_GRID, size=draws, p=weights)
    typical = float(SHARED_GRID @ weights)
    trend = shared_trend(found, float(design_effect(table.run, typical)))
    slopes = rng.normal(trend.slope, trend.spread, draws) if trend.spread else np.zeros(draws)
    counts = day_counts(table, everything, np.exp(trend.slope * place))
    design = design_effect(table.run, shared)
    fleet = _drawn(counts, usual, PRIOR_LOANS, design, rng)
    return LatenessLaw(today, table, trend, shared, slopes, fleet, rng)


def _waits(table: LoanTable, counts: DayCounts, usual: UsualCurve, pace: np.ndarray) -> RunTable:
    """Each loan's wait on the estimated curve, in the middle of its last day."""
    before = np.concatenate([[1.0], usual.left[:-1]])
    ends = PRIOR_LOANS * usual.returned + counts.returned
    hazard = ends / (PRIOR_LOANS * before + np.maximum(counts.at_risk, counts.returned))
    waited = np.cumsum(-np.log1p(-np.minimum(hazard, 0.99)))
    day = np.concatenate([[0.0], waited])
    middle = (day[table.last] + day[table.last + 1]) / 2
    at = np.where(table.returned, middle, day[table.last + 1])
    return RunTable(at * pace, table.returned, table.run)


def _drawn(
    counts: DayCounts,
    around: UsualCurve,
    weight: float,
    design: np.ndarray,
    rng: np.random.Generator,
) -> DrawnCurves:
    """Curves drawn around counts and a curve that counts as `weight` loans."""
    before = np.concatenate([np.ones_like(around.left[..., :1]), around.left[..., :-1]], axis=-1)
    each = design[:, None]
    back = weight * around.returned + counts.returned / each
    lost = weight * around.lost + counts.lost / each
    at_risk = weight * before + np.maximum(counts.at_risk, counts.returned + counts.lost) / each
    stay = np.maximum(at_risk - back - lost, 1e-3)
    shares = [_gammas(part, rng) for part in (back, lost, stay)]
    total = shares[0] + shares[1] + shares[2] + 1e-300
    returned = np.minimum(shares[0] / total, 1 - 1e-9)
    return DrawnCurves(returned, np.minimum(shares[1] / total, 1 - 1e-9))


def _gammas(shape: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Gamma draws; none where the shape is so small that all but one in thousands are nothing."""
    found = np.zeros(shape.shape)
    where = shape > _FEW
    found[where] = rng.standard_gamma(shape[where])
    return found


def _drawn_kind(law: LatenessLaw, cell: tuple[bool, bool]) -> DrawnCurves:
    """The curves of one destination, and within it of one length, drawn around the fleet's.

    A kind that all loans belong to is the fleet itself.
    """
    abroad, long = (np.array([own[part] for own in law.table.cells], bool) for part in (0, 1))
    here = np.ones(len(law.table), bool)
    curves = law.fleet
    for same in (abroad == cell[0], long == cell[1]):
        narrower = here & same
        if narrower.sum() < here.sum():
            curves = _narrowed(law, curves, narrower)
            here = narrower
    return curves


def _narrowed(law: LatenessLaw, curves: DrawnCurves, which: np.ndarray) -> DrawnCurves:
    pace = np.exp(law.trend.slope * law.trend.place(law.table.due))
    counts = day_counts(law.table, which, pace)
    design = design_effect(law.table.run[which], law.shared)
    return _drawn(counts, _as_curve(curves), POOLED_LOANS, design, law.rng)


def _as_curve(curves: DrawnCurves) -> UsualCurve:
    left = np.cumprod(1 - curves.returned - curves.lost * (1 - curves.returned), axis=1)
    before = np.concatenate([np.ones_like(left[:, :1]), left[:, :-1]], axis=1)
    returned = before * curves.returned
    return UsualCurve(returned, before - returned - left, left)
