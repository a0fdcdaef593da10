"""Facts of the day are asked for once by whoever needs them."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals.models import ContentsLine, Practice, StockItem
from rentals.selectors.day_facts import DayFacts
from rentals.selectors.kept_answers import KeptAnswers
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db


def day() -> DayFacts:
    return DayFacts(timezone.localdate(), KeptAnswers())


def test_they_tell_how_the_desk_stands():
    waits = assigned_loan()
    packed_loan()
    facts = day()
    assert (facts.loans.to_pack, facts.loans.packed, facts.mails["draft"]) == (1, 1, 1)
    assert waits.enrolment.run in facts.parcels.runs
    Practice.objects.update_or_create(pk=1, defaults={"name": "Another practice"})
    assert day().practice.name == "Another practice"


def test_what_is_short_follows_from_the_parcels_and_the_stock():
    item = (
        ContentsLine.objects.filter(
            kit_type=assigned_loan().kit.kit_type, stock_item__by_batch=False
        )
        .first()
        .stock_item
    )
    StockItem.objects.filter(pk=item.pk).update(on_hand=0)
    assert item in [row.item for row in day().stock_short]
    StockItem.objects.filter(pk=item.pk).update(on_hand=500)
    assert item not in [row.item for row in day().stock_short]


def test_a_second_question_of_the_same_name_asks_nothing():
    def first_of_the_day(facts: DayFacts) -> int:
        return facts.loans.to_pack + StockItem.objects.count()

    facts = day()
    found = facts.of(first_of_the_day)
    with CaptureQueriesContext(connection) as seen:
        assert facts.of(first_of_the_day) == found
        assert facts.loans.to_pack == 0
    assert len(seen) == 0
