"""The plan: kits against weeks, one kit lent to one student, another kit for a student."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import partial

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.assign import assign
from rentals.actions.swap import give_another_kit
from rentals.codes import grouped
from rentals.dates import short_date
from rentals.forms.plan import LendForm, OtherKitForm
from rentals.models import Enrolment, KitType, Loan
from rentals.planning.free_kits import FreeKit
from rentals.planning.plan_chart import plan_chart
from rentals.planning.plan_window import WEEKS_OFFERED, PlanWindow, usual_start, window_of
from rentals.row_numbers import row_number
from rentals.selectors.kit_plans import (
    PLAN_FILTERS,
    PlanFilter,
    kits_in_use,
    kits_planned,
    plan_rows,
    waiting_for,
)
from rentals.selectors.plan_days import day_rules
from rentals.selectors.plan_runs import MOST_RUNS, plan_choices, run_row, runs_planned, type_needs
from rentals.selectors.runs import free_kits
from rentals.web.filters import FilterChoice, ListFilter, list_filter
from rentals.web.finding import kit_or_404, page_of
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post

KITS_ON_A_PAGE = 60
STARTS_OFFERED = range(-26, 53, 2)
"""Weeks from the usual one with which the plan may begin, as they are offered to choose from."""
KITS_OFFERED = 120


@require_safe
def plan(request: DeskRequest) -> HttpResponse:
    """Which kit is where, and when."""
    today = timezone.localdate()
    window = window_of(request.GET.get("from", ""), request.GET.get("weeks", ""), today)
    wanted = _filter(request, window, today)
    kit_type, run = row_number(wanted.chosen("type")), row_number(wanted.chosen("run"))
    narrowed = PlanFilter(wanted.words, kit_type, run, wanted.chosen("show"))
    page = page_of(request, kits_planned(narrowed, window, today), KITS_ON_A_PAGE)
    runs = list(runs_planned(window, kit_type, run)[: MOST_RUNS + 1])
    rules = day_rules()
    rows = plan_rows(page, window, rules, today)
    run_rows = [run_row(run, today) for run in runs[:MOST_RUNS]]
    context = {
        "page": page,
        "rows": rows,
        "runs": run_rows,
        "more_runs": len(runs) > MOST_RUNS,
        "next": next((row for row in run_rows if row.assign), None),
        "chart": plan_chart(
            window, [row.drawn for row in run_rows], [row.drawn for row in rows], today
        ),
        "needs": type_needs(rules, today, kit_type),
        "clashing": sum(bool(row.plan.clashes) for row in rows),
        "window": window,
        "today": today,
        "usual_start": usual_start(today),
        "total": kits_in_use().count(),
        "no_types": not KitType.objects.exists(),
        **wanted.context(),
    }
    return render(request, "rentals/plan/calendar.html", context)


def _filter(request: DeskRequest, window: PlanWindow, today: date) -> ListFilter:
    """The filter with the window among its choices, as it came out and not as it was typed."""
    types, runs = plan_choices(window)
    usual = usual_start(today)
    mondays = {usual + timedelta(weeks=week) for week in STARTS_OFFERED} | {window.start}
    starts = [(day.isoformat(), short_date(day)) for day in sorted(mondays)]
    choices = (
        FilterChoice("type", "Kit type", types),
        FilterChoice("run", "Run", runs),
        FilterChoice("show", "Kits", PLAN_FILTERS),
        FilterChoice("from", "From the week of", starts),
        FilterChoice("weeks", "Weeks", [(str(weeks), str(weeks)) for weeks in WEEKS_OFFERED]),
    )
    typed = list_filter(request, *choices)
    shown = {"from": window.start.isoformat(), "weeks": str(window.weeks)}
    return replace(typed, values=typed.values | shown)


@get_or_post
def lend(request: DeskRequest, code: str) -> HttpResponse:
    """One kit to one student who waits for one."""
    kit = kit_or_404(code)
    waiting = waiting_for(kit, timezone.localdate())
    nobody = () if waiting else ("Nobody waits for a kit of this type.",)
    page = ActPage(
        f"Lend kit {grouped(kit.code)}",
        "Assign",
        ("Its days follow from the run and the student's country.", *nobody),
        form_class=partial(_lend_form, waiting),
    )
    return act_page(
        request,
        page,
        lambda data: assign(kit, _enrolment(data["enrolment"]), actor=request.user),
        home=reverse("rentals:plan"),
        act="lend a kit",
        success=lambda loan: f"Kit {loan.kit.code} assigned to {loan.enrolment.student.name}.",
    )


def _lend_form(waiting: list[tuple[int, str]], data: object, **_: object) -> LendForm:
    return LendForm(data, waiting=waiting)


def _enrolment(pk: int) -> Enrolment:
    return get_object_or_404(Enrolment, pk=pk)


@get_or_post
def swap(request: DeskRequest, pk: int) -> HttpResponse:
    """Another kit for a student whose kit is not packed yet."""
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run__kit_type")
    loan = get_object_or_404(loans, pk=pk)
    student, free = loan.enrolment.student, free_kits(loan.enrolment.run)
    page = ActPage(
        f"Another kit for {student.name}",
        "Give the other kit",
        (
            f"Kit {grouped(loan.kit.code)} is free again; what is ticked of it is unticked.",
            f"{student.name} gets the other one on the same days.",
        ),
        undo="The first kit can be given back in the same way.",
        form_class=partial(_other_kit_form, free),
    )
    return act_page(
        request,
        page,
        lambda data: give_another_kit(loan, data["kit"], actor=request.user),
        home=reverse("rentals:plan"),
        act="give another kit",
        success=lambda new: _given(new, free),
        template="rentals/plan/swap.html",
        context={"offered": free[:KITS_OFFERED]},
    )


def _given(loan: Loan, free: list[FreeKit]) -> str:
    """What was done, and what the kit needs before it is packed. `free` were the kits before."""
    to_do = [kit for kit in free if kit.code == loan.kit.code and kit.against]
    first = " It must be cleared and complete before it is packed." if to_do else ""
    return f"{loan.enrolment.student.name} gets kit {loan.kit.code}.{first}"


def _other_kit_form(free: list[FreeKit], data: object, **_: object) -> OtherKitForm:
    return OtherKitForm(data, free=free)
