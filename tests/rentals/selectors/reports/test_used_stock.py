"""Stock that loans have used up, and its worth to the cent."""

from decimal import Decimal

import pytest
from django.db.models import Q

from rentals.models import StockItem
from rentals.selectors.reports.used_stock import used_in_all, used_stock

from .ended import ended_loan

pytestmark = pytest.mark.django_db


def test_what_does_not_come_back_is_used_and_worth_its_share_of_a_pack():
    first, second = ended_loan(), ended_loan()
    items = StockItem.objects.filter(kind="electrodes").order_by("pk")
    # 24 of a pack of 100 for 32: whole numbers, which SQLite would divide without a rest.
    StockItem.objects.filter(pk=items[0].pk).update(pack_size=100, pack_price=Decimal(32))
    used = used_stock(Q(), "loan")
    assert (used[first.pk].electrodes, used[first.pk].worth) == (24, Decimal("7.68"))
    assert (used[second.pk].unpriced, used[second.pk].worth) == (24, Decimal(0))
    total = used_in_all(used.values())
    assert (total.electrodes, total.further, total.unpriced) == (48, 0, 24)
    assert total.worth == Decimal("7.68")
