"""The owner is told of acts that are dated ahead of the machine's clock."""

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from rentals.actions.record import record_stock
from rentals.selectors.clock import clock_set_back
from tests.factories import StockItemFactory

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def test_it_is_told_until_the_desk_was_at_work_for_a_week():
    assert clock_set_back() == ""
    item, now = StockItemFactory(), timezone.now()
    record_stock(item, "Counted.", at=now + timedelta(minutes=1))
    assert clock_set_back(now) == ""
    record_stock(item, "Counted.", at=now + timedelta(days=365))
    later = now + timedelta(days=8)
    assert "but the newest act on file is of" in clock_set_back(now)
    assert clock_set_back(later)
    with time_machine.travel(now):
        record_stock(item, "Counted.")
    assert clock_set_back(now)
    assert clock_set_back(later) == ""
