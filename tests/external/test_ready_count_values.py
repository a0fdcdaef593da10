"""How many succeed, the log-rank test and counted shares against published tables (rows L4 to L7 of
the table of standards) and SciPy.
"""

import itertools

import numpy as np
import pytest
from scipy import stats

from rentals.planning.hazard_slope import hazard_slope
from rentals.planning.ready_count import at_least, count_law, spares_for
from rentals.planning.share_range import wilson

pytestmark = pytest.mark.any_database

#: Weeks in remission, Freireich and others, Blood 21 (1963) 699-716; a minus: still in remission.
TREATED = (6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35)
PLACEBO = (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)


def test_l4_two_arms_differ_by_the_log_rank_test():
    """Kleinbaum and Klein, Survival Analysis: 16.79 on one degree of freedom; Cox's coefficient
    of the same table, 1.51 by Breslow's treatment of ties.
    """
    weeks, arms = TREATED + PLACEBO, [0] * 21 + [1] * 21
    found = hazard_slope([abs(week) for week in weeks], [week > 0 for week in weeks], arms)
    assert found.chi_square == pytest.approx(16.793, abs=5e-4)
    assert stats.chi2.sf(found.chi_square, 1) == pytest.approx(4.17e-5, rel=2e-3)
    assert found.slope == pytest.approx(1.509, abs=5e-4)


@pytest.mark.parametrize(
    ("mean", "most", "share"),
    [(2, 2, 0.67668), (3, 5, 0.91608), (5, 8, 0.93191), (5, 9, 0.96817)],
)
def test_l5_many_rare_successes_follow_the_poisson_table(mean, most, share):
    """Within the bound of Le Cam: the sum of the squared chances."""
    many = 100_000
    law = count_law(np.array([mean / many]), [many])
    assert law[: most + 1].sum() == pytest.approx(share, abs=mean**2 / many + 5e-6)


@pytest.mark.parametrize(
    ("many", "chance", "most", "share"),
    [(10, 0.1, 2, 0.92981), (20, 0.05, 0, 0.35849), (20, 0.05, 1, 0.73584)],
)
def test_l6_equal_chances_follow_the_binomial_table(many, chance, most, share):
    law = count_law(np.full(many, chance))
    assert law[: most + 1].sum() == pytest.approx(share, abs=5e-6)


def test_l7_late_returns_five_of_twenty():
    """Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212."""
    assert wilson(5, 20) == pytest.approx((0.111862, 0.468701), abs=1e-6)
    assert wilson(0, 10) == pytest.approx((0, 0.27753), abs=1e-5)
    theirs = stats.binomtest(5, 20).proportion_ci(method="wilson")
    assert wilson(5, 20) == pytest.approx((theirs.low, theirs.high))


@pytest.mark.parametrize("many", [1, 2, 7, 60, 400])
def test_the_number_of_successes_has_the_law_that_scipy_finds(many):
    chances = np.random.default_rng(many).random(many)
    theirs = stats.poisson_binom.pmf(np.arange(many + 1), chances)
    assert count_law(chances) == pytest.approx(theirs, abs=1e-12)


def test_the_number_of_successes_has_the_law_of_all_outcomes_counted_one_by_one():
    chances = [0.0, 0.5, 0.5, 0.93, 1.0, 0.2]
    law = np.zeros(7)
    for outcome in itertools.product((0, 1), repeat=6):
        pairs = zip(outcome, chances, strict=True)
        law[sum(outcome)] += np.prod([p if hit else 1 - p for hit, p in pairs])
    assert count_law(np.array(chances)) == pytest.approx(law, abs=1e-10)
    assert at_least(law, 3) == pytest.approx(law[3:].sum())
    spares = spares_for(law, 5, 0.95)
    assert law[5 - spares :].sum() >= 0.95 > law[6 - spares :].sum()
