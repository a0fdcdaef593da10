"""What the pages about personal data say."""

import pytest

from rentals.models import Practice
from rentals.privacy.in_words import Terms
from rentals.privacy.keeping import Term
from rentals.selectors.erasures import by_rest
from rentals.selectors.privacy import due_rows, erasure_effects, terms_of, what_is_kept
from tests.factories import StudentFactory, assigned_loan

pytestmark = pytest.mark.django_db


def test_the_list_says_for_each_thing_how_long_and_what_becomes_of_it():
    rows = {row.what: row for row in what_is_kept(Practice(months_to_keep_photos=1))}
    assert rows["Photos of damage"].how_long == "1 month after the loan is settled"
    assert rows["Photos of damage"].erased == "Deleted."
    assert rows["Loans: days, parcel and tracking numbers, deposit"].erased == "Emptied."
    assert "rotated" in rows["Backups"].how_long
    assert all(row.why and row.erased for row in rows.values())


def test_every_term_has_its_words():
    assert all(Terms(24, 6, 30).words(term) for term in Term)
    assert terms_of(Practice()) == Terms(24, 6, 30)


def test_who_is_next_has_a_day_and_what_comes_first():
    loan = assigned_loan()
    StudentFactory()
    rows = due_rows(by_rest(), Practice.current())
    assert [bool(row.holds) for row in rows] == [False, True]
    assert rows[0].due_on < rows[1].due_on
    assert "with days, parts and sums: 1." in " ".join(erasure_effects(loan.enrolment.student))
