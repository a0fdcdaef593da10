"""Survival against the remission times of 42 patients that textbooks print (rows L1 to L3):
Freireich and others, Blood 21 (1963) 699-716; Gehan 1965; Kleinbaum and Klein, Survival Analysis.
"""

import pytest
from scipy import stats

from rentals.planning.survival import Lifetime, SurvivalCurve

pytestmark = pytest.mark.any_database

#: Weeks in remission under 6-mercaptopurine; a minus stands for "still in remission then".
TREATED = (6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35)
PLACEBO = (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)


def curve_of(weeks):
    return SurvivalCurve(Lifetime(abs(week), week > 0) for week in weeks)


def test_the_treated_arm_is_the_printed_table():
    steps = curve_of(TREATED).steps
    assert [step.time for step in steps] == [6, 7, 10, 13, 16, 22, 23]
    assert [step.at_risk for step in steps] == [21, 17, 15, 12, 11, 7, 6]
    shares = (0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482)
    assert [step.share for step in steps] == pytest.approx(shares, abs=5e-5)
    errors = (0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346)
    assert [step.error for step in steps] == pytest.approx(errors, abs=5e-5)


def test_median_and_events_of_the_treated_arm():
    curve = curve_of(TREATED)
    assert curve.quantile(0.5) == 23
    assert curve.ended / sum(map(abs, TREATED)) == pytest.approx(0.025070, abs=1e-6)


def test_the_placebo_arm_has_no_censoring():
    curve = curve_of(PLACEBO)
    assert curve.share(8) == pytest.approx(8 / 21)
    assert curve.share(11) == pytest.approx(6 / 21)
    assert curve.quantile(0.5) == 8
    # Without censoring the restricted mean is the plain mean, and its error nearly its own.
    life = curve.mean_life()
    assert life.mean == pytest.approx(sum(PLACEBO) / 21)
    assert life.error == pytest.approx(stats.sem(PLACEBO, ddof=0))


def test_scipy_finds_the_same_shares_and_intervals():
    weeks = stats.CensoredData.right_censored([abs(w) for w in TREATED], [w < 0 for w in TREATED])
    theirs = stats.ecdf(weeks).sf
    bounds = theirs.confidence_interval(method="log-log")
    curve = curve_of(TREATED)
    for week, share in zip(theirs.quantiles, theirs.probabilities, strict=True):
        assert curve.share(week) == pytest.approx(share)
        if week >= 6:
            low, high = curve.interval(week)
            assert low == pytest.approx(bounds.low.evaluate(week))
            assert high == pytest.approx(bounds.high.evaluate(week))
