"""The owner's answer about customs is kept for a destination and taken back."""

import pytest

from rentals.actions.customs import answer_customs, drop_customs_answer
from rentals.models import CustomsAnswer

pytestmark = pytest.mark.django_db


def test_a_later_answer_takes_the_place_of_the_one_before() -> None:
    answer_customs("de", "ch", needed=True)
    answer_customs("de", "ch", needed=False, note=" asked at the counter ")
    row = CustomsAnswer.objects.get()
    assert (row.needed, row.note) == (False, "asked at the counter")
    assert "not needed" in str(row)
    drop_customs_answer("de", "ch")
    assert not CustomsAnswer.objects.exists()
