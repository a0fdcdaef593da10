"""The plan's shopping list: page, file, paper."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.dates import short_date
from rentals.models import Practice, StockItem
from tests.factories import CourseRunFactory, EnrolmentFactory, StockItemFactory, complete_kit
from tests.rentals.paper.reading import text_of

pytestmark = pytest.mark.django_db


def test_the_shopping_list_on_screen_as_a_file_and_on_paper(signed_in):
    StockItemFactory(name="=Bands", on_hand=2, pack_size=10, pack_price=Decimal("7.50"))
    StockItemFactory(name="Enough of it")
    page = signed_in.get(reverse("rentals:plan_stock")).content.decode()
    assert "1 item is to be ordered today; together" in page
    assert "2 are here, at or below your own reorder point of 10." in page
    assert "No run of the next half year needs it." in page
    ordered = signed_in.get(reverse("rentals:plan_stock"), {"show": "order"}).content.decode()
    assert "Enough of it" not in ordered
    csv = signed_in.get(reverse("rentals:plan_stock_export", args=["csv"]), {"show": "order"})
    rows = csv.getvalue().decode("utf-8-sig").splitlines()
    assert rows[0].startswith("item,supplier,here,needed")
    assert rows[1].startswith("'=Bands,,2,0,,")
    assert ",1,10,7.5," in rows[1]
    assert len(rows) == 2
    assert signed_in.get(reverse("rentals:plan_stock_export", args=["ods"])).status_code == 404
    text = text_of(signed_in.get(reverse("rentals:plan_stock_pdf")).content)
    assert "1 item to order" in text
    assert "=Bands" in text


def test_an_overdue_order_names_its_day_on_screen_as_a_file_and_on_paper(signed_in):
    today = timezone.localdate()
    run = CourseRunFactory(post_by=today + timedelta(days=3), kit_type=complete_kit().kit_type)
    EnrolmentFactory(run=run)
    StockItem.objects.filter(kind="box").update(on_hand=0, lead_days=8, lead_spread_days=0)
    day, late = today - timedelta(days=5), f"may come too late for {run.name}."
    page = " ".join(signed_in.get(reverse("rentals:plan_stock")).content.decode().split())
    assert f"{short_date(day)} <strong>overdue</strong>" in page and late in page
    csv = signed_in.get(reverse("rentals:plan_stock_export", args=["csv"]), {"show": "order"})
    written = csv.getvalue().decode()
    assert f",{day.isoformat()},overdue," in written and late in written
    text = text_of(signed_in.get(reverse("rentals:plan_stock_pdf")).content)
    assert "Order: overdue." in text


def test_how_an_item_is_bought_is_kept_and_what_is_left_out_stays(signed_in):
    item = StockItemFactory(on_hand=5)
    form = {"name": item.name, "kind": item.kind, "unit": "pieces", "reorder_point": 3}
    bought = {"lead_days": 12, "pack_size": 50, "pack_price": "19.90", "supplier": "By post"}
    address = reverse("rentals:stock_edit", args=[item.pk])
    signed_in.post(address, form | bought)
    signed_in.post(address, form | {"pack_size": 0})
    signed_in.post(address, form | {"pack_price": "19.90"})
    item = StockItem.objects.get()
    assert (item.lead_days, item.lead_spread_days, item.pack_size) == (12, 2, 50)
    assert item.pack_price == Decimal("19.90")


def test_the_practice_sets_how_often_stock_shall_reach(signed_in):
    form = {"name": "Ease", "currency": "EUR", "mains_hz": 50, "paper": "A4"}
    address = reverse("rentals:practice")
    signed_in.post(address, form | {"stock_service": "90"})
    assert Practice.current().stock_service == 90
    assert signed_in.post(address, form | {"stock_service": "100"}).status_code == 422
    signed_in.post(address, form)
    assert Practice.current().stock_service == 90
