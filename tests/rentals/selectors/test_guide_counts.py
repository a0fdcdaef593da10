"""How often the help by symptom solved it."""

import pytest

from rentals.actions.guide import answer_step, begin_help
from rentals.selectors.guide_counts import solved_table
from tests.rentals.guide import YES, lent

pytestmark = pytest.mark.django_db


def test_visits_are_counted_by_how_they_ended_and_by_the_step_that_helped(
    django_assert_num_queries,
):
    loan = lent()
    for _ in range(2):
        answer_step(begin_help(loan, "hum"), "laptop_battery", YES)
    begin_help(loan, "hum")
    with django_assert_num_queries(3):
        rows = {row.title: row for row in solved_table()}
    hum = rows["The trace hums"]
    assert (hum.used, hum.solved, hum.reported, hum.under_way) == (3, 2, 0, 1)
    assert hum.solved_by == [("Run the laptop on its battery", 2)]
    assert rows["The trace is flat"].used == 0
