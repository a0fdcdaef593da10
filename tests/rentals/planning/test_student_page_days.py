"""How long a student's page opens."""

from datetime import date

from rentals.planning.student_page_days import page_ends_on, page_has_ended


def test_the_page_opens_as_long_as_the_loan_and_some_days():
    assert page_ends_on(None, 30) is None
    assert not page_has_ended(None, 0, date(2099, 1, 1))
    closed = date(2027, 3, 1)
    assert page_ends_on(closed, 30) == date(2027, 3, 31)
    assert not page_has_ended(closed, 30, date(2027, 3, 31))
    assert page_has_ended(closed, 30, date(2027, 4, 1))
