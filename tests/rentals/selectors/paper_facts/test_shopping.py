"""What the shopping list says on paper: only what is to be ordered."""

from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.selectors.paper_facts.practice import practice_facts
from rentals.selectors.paper_facts.shopping import shopping_facts
from rentals.selectors.shopping_list import shopping_list
from tests.factories import StockItemFactory

pytestmark = pytest.mark.django_db


def test_only_what_is_to_be_ordered_stands_on_the_paper():
    StockItemFactory()
    item = StockItemFactory(on_hand=1, supplier="By post", pack_size=10, pack_price=Decimal(3))
    today = timezone.localdate()
    facts = shopping_facts(shopping_list(today), practice_facts())
    (line,) = facts.lines
    assert (line.name, line.supplier, line.here) == (item.name, "By post", 1)
    assert (line.packs, line.pack_size, line.cost) == (1, 10, Decimal(3))
    assert (line.order_by, facts.on) == (today, today)
