"""What is said of the cells of a loan, with the cautions."""

from datetime import date

import pytest

from rentals.planning.cell_words import owner_sentence, student_sentence
from rentals.planning.cells import CellOutlook, CellVerdict, ThreeWays

pytestmark = pytest.mark.any_database

START = date(2027, 3, 1)
LASTS = CellOutlook(CellVerdict.LAST, ThreeWays(90, 150, 300), 70, True, date(2027, 5, 9))
LOW = CellOutlook(
    CellVerdict.MAY_NOT,
    ThreeWays(31, 60, 110),
    70,
    True,
    date(2027, 5, 9),
    act_on=date(2027, 3, 31),
    every=36,
)
PRIMARY = CellOutlook(
    CellVerdict.PROBABLY,
    ThreeWays(60, 80, 120),
    70,
    False,
    date(2027, 5, 9),
    act_on=date(2027, 4, 29),
    every=60,
)


def test_the_owner_reads_how_sure_it_is_and_by_when_to_act():
    assert owner_sentence(LASTS, START) == (
        "The cells last the course: 90 days by cautious figures, 150 by likely ones, of 70 days."
    )
    assert owner_sentence(LOW, START).startswith("The cells may not last the course: 31 days")
    assert owner_sentence(LOW, START).endswith("Have the student charge them by 31 Mar 2027.")
    assert owner_sentence(PRIMARY, START).endswith("Have the student replace them by 29 Apr 2027.")


def test_a_day_that_has_passed_gives_way_to_the_next():
    assert owner_sentence(LOW, date(2027, 4, 1)).endswith("charge them by 6 May 2027.")
    assert owner_sentence(LOW, date(2027, 5, 8)).endswith("of 70 days.")


def test_the_student_reads_what_to_do_with_the_cautions():
    assert student_sentence(LASTS).startswith("The cells last the course.")
    assert student_sentence(LOW) == (
        "Charge the cells by 31 Mar 2027 and every 5 weeks from then on, only in the charger that"
        " came with them; put them back the right way round."
    )
    assert student_sentence(PRIMARY) == (
        "Put in new cells of the same kind by 29 Apr 2027, all at once and the right way round;"
        " never charge the old ones."
    )
