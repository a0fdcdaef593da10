"""Counted stock: what there is, what came in, what a count found."""

from __future__ import annotations

from django.db.models import F, Q, Sum
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.restock import count_stock, restock, save_item
from rentals.forms.stock import CountForm, RestockForm, StockItemForm
from rentals.models import Event, StockItem
from rentals.web.acting import carry_out
from rentals.web.finding import page_of

from .kit_acts import get_or_post


@require_safe
def stock_list(request: HttpRequest) -> HttpResponse:
    """All items with what may go out today."""
    today = timezone.localdate()
    usable = Sum(
        "batches__on_hand",
        filter=Q(batches__expires_on__gte=today) | Q(batches__expires_on__isnull=True),
    )
    items = StockItem.objects.annotate(
        usable=Coalesce(usable, 0) + F("on_hand"),
        expired=Coalesce(Sum("batches__on_hand", filter=Q(batches__expires_on__lt=today)), 0),
    )
    q = request.GET.get("q", "").strip()[:100]
    if q:
        items = items.filter(Q(name__icontains=q) | Q(shelf__icontains=q) | Q(kind__icontains=q))
    page = page_of(request, items.order_by("name"))
    return render(
        request,
        "rentals/stock/list.html",
        {"page": page, "q": q, "total": StockItem.objects.count()},
    )


@get_or_post
def stock_new(request: HttpRequest) -> HttpResponse:
    """A new item to be counted."""
    return _edit(request, StockItem(), "New stock item")


@get_or_post
def stock_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Name, shelf and reorder point."""
    item = get_object_or_404(StockItem, pk=pk)
    return _edit(request, item, f"Change {item.name}")


def _edit(request: HttpRequest, item: StockItem, title: str) -> HttpResponse:
    posted = request.method == "POST"
    form = StockItemForm(request.POST if posted else None, instance=item)
    if posted and form.is_valid():
        answer = carry_out(
            request,
            "save stock item",
            lambda: save_item(form.instance, actor=request.user).get_absolute_url(),
            form=form,
        )
        if answer is not None:
            return answer
    context = {"form": form, "title": title, "home": reverse("rentals:stock")}
    return render(request, "rentals/setup/edit.html", context, status=422 if posted else 200)


@get_or_post
def stock_item(request: HttpRequest, pk: int) -> HttpResponse:
    """One item: its batches, the form for what came in, its history."""
    item = get_object_or_404(StockItem, pk=pk)
    posted = request.method == "POST"
    form = RestockForm(request.POST if posted else None, item=item)
    if posted and form.is_valid():

        def do() -> str:
            restock(item, received_on=timezone.localdate(), actor=request.user, **form.cleaned_data)
            return item.get_absolute_url()

        answer = carry_out(request, "restock", do, form=form)
        if answer is not None:
            return answer
    context = {
        "item": item,
        "form": form,
        "batches": item.batches.all(),
        "today": timezone.localdate(),
        "events": Event.objects.filter(chain=f"stock {item.pk}").order_by("-number")[:20],
    }
    return render(request, "rentals/stock/detail.html", context, status=422 if posted else 200)


@get_or_post
def stock_count(request: HttpRequest, pk: int) -> HttpResponse:
    """Corrects the number on hand to what was counted."""
    item = get_object_or_404(StockItem, pk=pk)
    posted = request.method == "POST"
    form = CountForm(
        request.POST if posted else None,
        item=item,
        initial={} if item.by_batch else {"counted": item.on_hand},
    )
    if posted and form.is_valid():
        data = form.cleaned_data

        def do() -> str:
            count_stock(
                item,
                data["counted"],
                batch=data.get("batch"),
                reason=data["reason"],
                actor=request.user,
            )
            return item.get_absolute_url()

        answer = carry_out(request, "count", do, form=form)
        if answer is not None:
            return answer
    context = {"form": form, "title": f"Count {item.name}", "home": item.get_absolute_url()}
    return render(request, "rentals/setup/edit.html", context, status=422 if posted else 200)
