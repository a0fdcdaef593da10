from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning.lateness import (
    EARLIEST,
    LATEST,
    PastLoan,
    day_counts,
    loan_table,
    usual_curve,
)

pytestmark = pytest.mark.any_database

DUE = date(2027, 3, 1)


def loan(late=None, **facts):
    ended = None if late is None else DUE + timedelta(days=late)
    return PastLoan(1, DUE - timedelta(days=60), DUE, ended, **facts)


def counts_of(*loans, today):
    table = loan_table(loans, today)
    every = np.ones(len(table))
    return table, day_counts(table, every > 0, every)


def test_a_kit_still_out_is_at_risk_until_yesterday():
    table, counts = counts_of(loan(), loan(2), today=DUE + timedelta(days=5))
    assert list(table.lateness) == [4, 2]
    assert counts.at_risk[4 - EARLIEST] == 1
    assert counts.at_risk[5 - EARLIEST] == 0
    assert counts.at_risk[2 - EARLIEST] == 2
    assert counts.returned[2 - EARLIEST] == 1
    assert counts.returned.sum() == 1


def test_a_kit_written_off_ends_in_its_own_way():
    _, counts = counts_of(loan(40, lost=True), loan(1), today=DUE + timedelta(days=99))
    assert counts.lost[40 - EARLIEST] == 1
    assert counts.returned.sum() == 1
    assert counts.at_risk[39 - EARLIEST] == 1


def test_days_beyond_the_axis():
    """A month early counts as the first day; what comes half a year late was not back by the last
    day; a kit that is not due for months says nothing yet.
    """
    _, counts = counts_of(loan(-40), loan(180), today=DUE + timedelta(days=200))
    assert counts.returned[0] == 1
    assert counts.returned.sum() == 1
    assert counts.at_risk[LATEST - EARLIEST] == 1
    assert not len(loan_table([loan()], DUE - timedelta(days=40)))


def test_kinds_are_destination_and_length():
    short = loan(0)
    long = PastLoan(1, DUE - timedelta(days=130), DUE, abroad=True)
    assert short.cell == (False, False)
    assert long.cell == (True, True)


def test_the_usual_curve_keeps_a_share_at_never():
    usual = usual_curve()
    due = -EARLIEST
    assert 1 - usual.left[due] == pytest.approx(0.58, abs=0.02)
    assert 1 - usual.left[due + 7] == pytest.approx(0.87, abs=0.02)
    assert usual.left[-1] == pytest.approx(0.01, abs=0.002)
    assert usual.returned.sum() == pytest.approx(0.98, abs=1e-6)
