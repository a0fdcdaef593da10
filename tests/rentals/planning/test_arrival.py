"""Until when an arrival check is taken, and what can be asked of a student afterwards."""

from datetime import date

import pytest

from rentals.planning.arrival import ArrivalStanding, asked_for_damaged, asked_for_missing

SENT = date(2027, 3, 1)


@pytest.mark.parametrize(
    ("with_student", "dispatched_on", "times_sent", "today", "is_open"),
    [
        (True, SENT, 0, date(2027, 3, 15), True),
        (True, SENT, 1, date(2027, 3, 15), True),
        (True, SENT, 2, date(2027, 3, 2), False),
        (True, SENT, 0, date(2027, 3, 16), False),
        (False, SENT, 0, date(2027, 3, 2), False),
        (True, None, 0, date(2027, 3, 2), False),
    ],
)
def test_the_check_is_taken_twice_and_for_some_days(
    with_student, dispatched_on, times_sent, today, is_open
):
    standing = ArrivalStanding(with_student, dispatched_on, times_sent, days=14)
    assert standing.is_open(today) is is_open


@pytest.mark.parametrize(
    ("lacking", "missing", "damaged", "for_missing", "for_damaged"),
    [(3, 0, 0, 3, 3), (3, 1, 0, 2, 2), (3, 3, 0, 0, 0), (1, 2, 0, 0, 0), (2, 0, 1, 2, 1)],
)
def test_pieces_that_never_arrived_are_not_asked_for(
    lacking, missing, damaged, for_missing, for_damaged
):
    assert asked_for_missing(lacking, missing) == for_missing
    assert asked_for_damaged(lacking, missing, damaged) == for_damaged


def test_a_number_of_pieces_is_never_negative():
    with pytest.raises(ValueError, match="never negative"):
        asked_for_missing(1, -1)
