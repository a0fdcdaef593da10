"""The fleet, one kit, new kits."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.register import register_kits
from rentals.forms.kits import NewKitsForm
from rentals.models import Kit, KitType
from rentals.selectors.errands import errands_about
from rentals.selectors.export import export_kits
from rentals.selectors.kit_page import kit_events, kit_page
from rentals.selectors.kits import (
    KIT_FILTERS,
    kit_rows,
    kits_listed,
    kits_of_rows,
    with_open_loans,
    with_sort_facts,
)
from rentals.selectors.next_steps import bench_address
from rentals.states import KitState
from rentals.web.filters import FilterChoice, ListFilter, list_filter
from rentals.web.finding import kit_or_404, page_of
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted, sees_money
from rentals.web.sorting import SortKey, list_order, sort_choice
from rentals.web.table_file import TableFile, format_or_404, sent_as_file

KIT_KEYS = (
    SortKey("code", "Kit", ("code",)),
    SortKey("state", "State", ("life",)),
    SortKey("verdict", "Last bench scores", ("cleared", "worst")),
    SortKey("due", "Due back", ("due",)),
)


@require_safe
def kit_list(request: DeskRequest) -> HttpResponse:
    """All kits with state, holder, due date and last scores."""
    wanted = _kit_filter(request)
    page = page_of(request, _kits_fitting(request, wanted), rows_of=kits_of_rows)
    context = {
        "page": page,
        "rows": kit_rows(page, timezone.localdate()),
        "total": Kit.objects.count(),
        "heads": list_order(request, KIT_KEYS).heads,
        "errands": errands_about(request.path, request.user),
        **wanted.context(),
    }
    return render(request, "rentals/kit/list.html", context)


def _kit_filter(request: DeskRequest) -> ListFilter:
    return list_filter(request, FilterChoice("state", "State", KIT_FILTERS), sort_choice(KIT_KEYS))


def _kits_fitting(request: DeskRequest, wanted: ListFilter) -> QuerySet[Kit]:
    order = list_order(request, KIT_KEYS)
    kits = kits_listed(wanted.words, wanted.chosen("state"))
    return order.applied(with_sort_facts(kits, order.chosen.fields))


@sent_as_file
def kit_export(request: DeskRequest, form: str) -> TableFile:
    """The list as the filter shows it, as a CSV or XLSX file."""
    chosen, rows = format_or_404(form), _kits_fitting(request, _kit_filter(request))
    home = reverse("rentals:kits")
    return TableFile("kits", chosen, rows.count(), export_kits(with_open_loans(rows), chosen), home)


@get_or_post
def kit_new(request: DeskRequest) -> HttpResponse:
    """Registers kits; their labels can be printed next."""
    return form_page(
        request,
        NewKitsForm(posted(request)),
        "rentals/kit/new.html",
        act="register kits",
        do=lambda data: register_kits(**data, actor=request.user),
        then=_page_of_kits,
        context={"no_types": not KitType.objects.filter(active=True).exists()},
    )


def _page_of_kits(kits: list[Kit]) -> str:
    if len(kits) == 1:
        return kits[0].get_absolute_url()
    return f"{reverse('rentals:kits')}?state={KitState.BENCH}"


@require_safe
def kit(request: DeskRequest, code: str) -> HttpResponse:
    """One kit: where it stands, what it holds, what happened to it."""
    kit = kit_or_404(code)
    context = {
        "kit": kit,
        "bench_url": bench_address(kit.code),
        "fitting": "fitting" in request.GET,
        "panel_url": reverse("readiness:kit_panel", args=[kit.code]),
        **vars(kit_page(kit, timezone.localdate(), with_money=sees_money(request))),
    }
    return render(request, "rentals/kit/detail.html", context)


@require_safe
def kit_history(request: DeskRequest, code: str) -> HttpResponse:
    """Everything that happened to a kit, newest first."""
    kit = kit_or_404(code)
    page = page_of(request, kit_events(kit, with_money=sees_money(request)))
    return render(request, "rentals/kit/history.html", {"kit": kit, "page": page})
