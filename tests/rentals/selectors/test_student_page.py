"""What the student's page shows of a loan."""

import pytest
from django.utils import timezone

from rentals.actions.setup import save_practice
from rentals.models import Practice
from rentals.next_acts.student import StudentStep
from rentals.selectors.student_page import (
    first_name,
    inner_bags,
    return_address,
    return_lines,
    student_kit,
)
from rentals.speaking import speaking
from tests.rentals.arrivals import loan_away

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("name", "greeted"),
    [("Ada Example", "Ada"), ("Example, Ada Maria", "Ada"), ("  Ada ", "Ada"), ("", "")],
)
def test_only_the_first_name_is_used(name, greeted):
    assert first_name(name) == greeted


def test_the_box_is_laid_out_bag_by_bag_in_the_order_of_packing():
    loan = loan_away()
    bags = inner_bags(loan)
    lines = list(loan.packing_lines.order_by("order", "pk"))
    assert [bag.name for bag in bags] == list(dict.fromkeys(line.inner_bag for line in lines))
    assert sorted(line.order for bag in bags for line in bag.lines) == [
        line.order for line in lines
    ]
    assert all(line.inner_bag == bag.name for bag in bags for line in bag.lines)
    assert {line.pk for line in return_lines(loan)} == {
        line.pk for line in lines if line.comes_back
    }


def test_the_next_step_is_said_in_the_language_that_is_spoken():
    loan, practice = loan_away(), Practice.current()
    today = timezone.localdate()
    english = student_kit(loan, practice, today)
    assert english.step is StudentStep.CHECK and english.route == "rentals:my_kit_arrival"
    loan.due_on = today
    with speaking("de"):
        german = student_kit(loan, practice, loan.due_on)
    assert german.step is StudentStep.CHECK and german.sentence


def test_the_address_is_the_practices_or_none():
    loan = loan_away()
    assert return_address(loan, Practice.current()) == []
    facts = {"street": "Hauptplatz 1", "city": "Linz", "postcode": "4020", "country": "AT"}
    practice = save_practice(Practice(name="Ease", **facts))
    assert "Hauptplatz 1" in return_address(loan, practice)
