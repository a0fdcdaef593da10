"""Counted stock: what there is, what came in, what a count found."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.correct_batch import correct_batch
from rentals.actions.restock import count_stock, restock, save_item
from rentals.forms.stock import CorrectBatchForm, CountForm, RestockForm, StockItemForm
from rentals.models import ElectrodeBatch, Event, StockItem
from rentals.next_acts import RESTOCK
from rentals.selectors.stock import batch_mark, items_listed, stock_rows
from rentals.web.filters import list_filter
from rentals.web.finding import page_of
from rentals.web.form_page import edit_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.sorting import SortKey, list_order, sort_choice

STOCK_KEYS = (
    SortKey("name", "Item", ("name",)),
    SortKey("usable", "May go out", ("usable",)),
    SortKey("reorder", "Reorder at", ("reorder_point",)),
    SortKey("shelf", "Shelf", ("shelf", "name")),
)


@require_safe
def stock_list(request: DeskRequest) -> HttpResponse:
    """All items with what may go out today."""
    wanted = list_filter(request, sort_choice(STOCK_KEYS))
    order = list_order(request, STOCK_KEYS)
    page = page_of(request, order.applied(items_listed(wanted.words, timezone.localdate())))
    context = {
        "page": page,
        "heads": order.heads,
        "rows": stock_rows(page, timezone.localdate()),
        "total": StockItem.objects.count(),
        **wanted.context(),
    }
    return render(request, "rentals/stock/list.html", context)


@get_or_post
def stock_new(request: DeskRequest) -> HttpResponse:
    """A new item to be counted."""
    return _edit(request, StockItem(), "New stock item")


@get_or_post
def stock_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Name, shelf and reorder point."""
    item = get_object_or_404(StockItem, pk=pk)
    return _edit(request, item, f"Change {item.name}")


def _edit(request: DeskRequest, item: StockItem, title: str) -> HttpResponse:
    form = StockItemForm(posted(request), instance=item)
    return edit_page(
        request,
        form,
        title=title,
        home=reverse("rentals:stock"),
        act="save stock item",
        do=lambda _: save_item(form.instance, actor=request.user),
    )


@get_or_post
def stock_item(request: DeskRequest, pk: int) -> HttpResponse:
    """One item: its batches, the form for what came in, its history."""
    item = get_object_or_404(StockItem, pk=pk)
    today = timezone.localdate()
    context = {
        "item": item,
        "act": RESTOCK.act,
        "batches": [(batch, batch_mark(batch, today)) for batch in item.batches.all()],
        "events": Event.objects.filter(chain=f"stock {item.pk}").order_by("-number")[:20],
    }
    return form_page(
        request,
        RestockForm(posted(request), item=item),
        "rentals/stock/detail.html",
        act="restock",
        do=lambda data: restock(item, received_on=today, actor=request.user, **data),
        then=item.get_absolute_url(),
        context=context,
    )


@get_or_post
def stock_count(request: DeskRequest, pk: int) -> HttpResponse:
    """Corrects the number on hand to what was counted."""
    item = get_object_or_404(StockItem, pk=pk)
    on_hand = {} if item.by_batch else {"counted": item.on_hand}
    return edit_page(
        request,
        CountForm(posted(request), item=item, initial=on_hand),
        title=f"Count {item.name}",
        home=item.get_absolute_url(),
        act="count",
        do=lambda data: count_stock(item, **data, actor=request.user),
        then=item.get_absolute_url(),
    )


@get_or_post
def stock_batch(request: DeskRequest, pk: int) -> HttpResponse:
    """Corrects number, expiry and count of a batch."""
    batch = get_object_or_404(ElectrodeBatch.objects.select_related("item"), pk=pk)
    home = batch.item.get_absolute_url()
    on_file = {name: getattr(batch, name) for name in ("batch_number", "expires_on", "on_hand")}
    return edit_page(
        request,
        CorrectBatchForm(posted(request), initial=on_file),
        title=f"Correct batch {batch.batch_number}",
        home=home,
        act="correct batch",
        do=lambda data: correct_batch(batch, **data, actor=request.user),
        then=home,
    )
