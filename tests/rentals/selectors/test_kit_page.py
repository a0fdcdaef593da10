"""What a kit's own page shows."""

import pytest
from django.utils import timezone

from rentals.selectors.kit_page import kit_page
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_a_kit_in_the_house_can_be_changed_and_retired():
    kit = complete_kit()
    page = kit_page(kit, timezone.localdate())
    assert (page.loan, page.loans, page.shortfalls) == (None, [], [])
    assert page.in_house and page.can_change and page.can_retire
    assert page.sentence == "Ready to be assigned."
    assert page.next is None
    assert page.events[0].verb == "cleared"


def test_a_packed_kit_is_neither_changed_nor_retired():
    loan = packed_loan()
    page = kit_page(loan.kit, timezone.localdate())
    assert page.loan == loan
    assert not page.can_change and not page.can_retire
    assert page.next.act == "Dispatch"
