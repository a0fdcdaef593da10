"""The shopping list on paper."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from rentals.paper.facts import ShoppingFacts, ShoppingLineFacts
from rentals.paper.shopping_list import shopping_list_paper

from .made_up import PRACTICE
from .reading import text_of

pytestmark = pytest.mark.any_database

GEL = ShoppingLineFacts(
    name="Gel electrodes",
    supplier="The wholesaler in Rosinburg",
    here=60,
    needed=480,
    needed_by=date(2027, 3, 5),
    order_by=date(2027, 2, 20),
    packs=5,
    pack_size=100,
    cost=Decimal("62.50"),
    why="Spring run needs 480 by 5 Mar 2027 and 60 will be here.",
)


def test_each_item_stands_with_its_numbers_and_its_reason():
    boxes = replace(GEL, name="Shipping box", supplier="", pack_size=1, cost=None, why="Because.")
    boxes = replace(boxes, urgency="overdue")
    facts = ShoppingFacts(PRACTICE, date(2027, 2, 1), (GEL, boxes))
    text = text_of(shopping_list_paper(facts).pdf)
    assert "2 items to order" in text
    assert "From The wholesaler in Rosinburg. 100 in a pack." in text
    assert "Order: overdue. Because." in text
    for cell in ("60", "480", "€62.50", "Together", "no price of a pack is on file"):
        assert cell in text


def test_an_empty_list_says_so():
    facts = ShoppingFacts(PRACTICE, date(2027, 2, 1), ())
    assert "Nothing is to be ordered." in text_of(shopping_list_paper(facts).pdf)
