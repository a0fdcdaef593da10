"""How long lead sets last, what they cost a loan, and how many spares the runs may take."""

from datetime import date
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from rentals.planning.lead_life import (
    LeadRecord,
    LeadSetLife,
    PlannedLoans,
    buy_by,
)

pytestmark = pytest.mark.any_database

DAY = date(2027, 6, 30)
IN_USE = LeadSetLife(6, 24)


def worn(loans):
    return LeadSetLife(loans, loans * 4, "worn")


def test_without_a_set_there_is_no_record():
    with pytest.raises(ValueError, match="at least one"):
        LeadRecord([])


def test_causes_are_counted_the_most_frequent_first():
    lost = LeadSetLife(1, 3, "lost")
    record = LeadRecord([IN_USE, worn(3), worn(5), lost, LeadSetLife(0, 1, spare=True)])
    assert record.causes == [("worn", 2), ("lost", 1)]
    assert (record.ended, record.loans, record.spares) == (3, 15, 1)
    assert record.in_use == (IN_USE,)


def test_a_loan_costs_the_price_over_the_mean_life():
    record = LeadRecord([worn(5)] * 4 + [worn(15)] * 4)
    cost = record.cost_a_loan(Decimal(40))
    assert cost.mean == Decimal(4)
    life = record.by_loans.mean_life()
    assert life.mean == 10
    assert float(cost.low) == pytest.approx(40 / life.high)
    assert float(cost.high) == pytest.approx(40 / life.low)
    assert LeadRecord([LeadSetLife(0, 0)]).cost_a_loan(Decimal(40)) is None
    assert LeadRecord([worn(1)] * 9 + [worn(100)]).cost_a_loan(Decimal(40)).high is None


def test_a_set_that_ended_without_having_been_lent_tells_nothing_of_loans():
    fleet, spare = [LeadSetLife(1, 6)] * 8, LeadSetLife(0, 6, spare=True)
    before, after = LeadRecord([*fleet, spare]), LeadRecord([*fleet, worn(0)])
    assert (after.ended, after.ended_unlent, after.a_loan) == (0, 1, before.a_loan)
    runs = [PlannedLoans("Spring", 8, DAY)]
    (had,), (has,) = before.spare_needs(runs, 0.95), after.spare_needs(runs, 0.95)
    assert has.lacking == had.lacking + 1


def test_while_few_have_ended_a_loan_costs_the_price_times_the_failures_a_loan():
    record = LeadRecord([worn(3)] * 2 + [IN_USE] * 9)
    cost = record.cost_a_loan(Decimal(40))
    assert float(cost.mean) == pytest.approx(40 * 2.5 / 70)
    law = stats.gamma(2.5, scale=1 / 70)
    assert float(cost.low) == pytest.approx(40 * law.ppf(0.025))
    assert float(cost.high) == pytest.approx(40 * law.ppf(0.975))


def test_few_ends_give_a_rate_and_many_the_curve():
    few = LeadRecord([worn(3)] + [IN_USE] * 10)
    rate = (1 + 0.5) / (63 + 10)
    assert few.expected_failures(10) == pytest.approx(10 * rate)
    ageing = LeadRecord([worn(8)] * 10 + [LeadSetLife(7, 28)] + [LeadSetLife(9, 36)])
    # The set of 7 loans will end at its eighth with ten in eleven, that of 9 has outlasted it.
    assert ageing.expected_failures(2) == pytest.approx(10 / 11 + ageing.a_loan)
    assert LeadRecord([worn(2)]).expected_failures(3) == pytest.approx(3 * 1.5 / 12)


@pytest.mark.parametrize("ended", [0, 3, 40])
def test_the_failures_to_be_ready_for_are_a_gamma_poisson_quantile(ended):
    record = LeadRecord([worn(5)] * ended + [IN_USE] * 20)
    known = ended + 0.5
    for expected in (0.3, 2.0, 9.0):
        law = stats.nbinom(known, known / (known + expected))
        assert record.at_most(expected, 0.95) == law.ppf(0.95)


def test_the_fewer_sets_have_ended_the_more_spares_are_asked_for():
    knows_little, knows_much = LeadRecord([worn(5)] * 2), LeadRecord([worn(5)] * 200)
    assert knows_little.at_most(4, 0.95) > knows_much.at_most(4, 0.95)
    assert knows_much.at_most(0.0, 0.95) == 0


def test_spares_are_bought_by_the_run_after_which_they_may_lack():
    spare = LeadSetLife(0, 1, spare=True)
    record = LeadRecord([worn(5)] * 6 + [IN_USE] * 20 + [spare] * 3)
    runs = [PlannedLoans("Spring", 10, DAY), PlannedLoans("Autumn", 40, date(2027, 12, 1))]
    spring, autumn = record.spare_needs(runs, 0.95)
    assert (spring.run.run, spring.lacking) == ("Spring", 0)
    assert autumn.expected > spring.expected
    assert autumn.lacking == autumn.at_most - 3 > 0
    assert buy_by([spring, autumn]) == autumn
    assert buy_by([spring]) is None


def test_bought_spares_reach_as_often_as_stated():
    """Fleets whose sets fail with the same chance at each loan: of those that kept the spares asked
    for, nineteen in twenty had enough.
    """
    chance = np.random.default_rng(3)
    reached = []
    for _ in range(400):
        rate = chance.uniform(0.02, 0.15)
        lives = []
        for loans in chance.integers(1, 12, 24):
            fails_at = chance.geometric(rate)
            ended = fails_at <= loans
            cause = "worn" if ended else None
            lives.append(LeadSetLife(int(min(fails_at, loans)), 1.0, cause))
        record = LeadRecord(lives)
        ready = record.at_most(record.a_loan * 48, 0.95)
        reached.append(chance.binomial(48, rate) <= ready)
    assert 0.93 <= np.mean(reached) <= 0.99
