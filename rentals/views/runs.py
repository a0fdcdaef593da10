"""Course runs: the list, one run with who has what, and a run's own form."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.runs import save_run
from rentals.forms.runs import RunForm, RunSpanForm
from rentals.models import CourseRun, KitType
from rentals.next_acts import IMPORT_ROSTER, on_the_run, run_sentence
from rentals.selectors.errands import errands_about
from rentals.selectors.next_steps import button
from rentals.selectors.plan_days import proposed_days
from rentals.selectors.run_page import whole_run
from rentals.selectors.run_strips import strips_of
from rentals.selectors.runs import (
    enrolments_listed,
    enrolments_of_rows,
    holding,
    run_button,
    run_phase,
    runs_listed,
    runs_of_rows,
    with_sort_facts_of_run,
    with_sort_facts_of_runs,
)
from rentals.web.filters import list_filter
from rentals.web.finding import page_of
from rentals.web.form_page import form_page
from rentals.web.page_or_part import page_or_part
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.sorting import SortKey, list_order, sort_choice

from .printing import printed_address

HOLDING_KEYS = (
    SortKey("student", "Student", ("gone", "student__name")),
    SortKey("kit", "Kit", ("kit_code",)),
    SortKey("state", "State", ("stage",)),
    SortKey("due", "Due back", ("due",)),
)


RUN_KEYS = (
    SortKey("starts", "Starts", ("starts_on",), latest_first=True),
    SortKey("name", "Run", ("name",)),
    SortKey("post", "Post by", ("post_by",), latest_first=True),
    SortKey("back", "Back by", ("return_by",), latest_first=True),
    SortKey("students", "Students", ("students",)),
)


@require_safe
def run_list(request: DeskRequest) -> HttpResponse:
    """All runs, newest first."""
    wanted = list_filter(request, sort_choice(RUN_KEYS))
    order = list_order(request, RUN_KEYS)
    runs = with_sort_facts_of_runs(runs_listed(wanted.words), order.chosen.fields)
    page = page_of(request, order.applied(runs), rows_of=runs_of_rows)
    today = timezone.localdate()
    strips = strips_of(page)
    rows = [(run, run_phase(run, today), strips[run.pk]) for run in page]
    context = {
        "page": page,
        "rows": rows,
        "heads": order.heads,
        **wanted.context(),
        "total": CourseRun.objects.count() if wanted.words else page.paginator.count,
    }
    return render(request, "rentals/run/list.html", context)


@require_safe
def run(request: DeskRequest, pk: int) -> HttpResponse:
    """One run: who has what, and what is next."""
    run = get_object_or_404(CourseRun.objects.select_related("kit_type"), pk=pk)
    wanted = list_filter(request, sort_choice(HOLDING_KEYS))
    today = timezone.localdate()
    order = list_order(request, HOLDING_KEYS)
    enrolments = enrolments_listed(run, wanted.words)
    enrolments = with_sort_facts_of_run(enrolments, order.chosen.fields)
    page = page_of(request, order.applied(enrolments), rows_of=enrolments_of_rows)
    facts = whole_run(run.pk, today)
    situation, draft, practice = facts.situation, facts.draft, facts.practice
    context = {
        "run": run,
        "page": page,
        "rows": [holding(enrolment, today) for enrolment in page],
        **wanted.context(),
        "heads": order.heads,
        "total": situation.students + situation.withdrawn,
        "everybody": on_the_run(situation.students, situation.withdrawn),
        "next": run_button(run, situation, draft),
        "sentence": run_sentence(situation),
        "has_parcels": bool(situation.to_pack or situation.to_dispatch or situation.away),
        "errands": errands_about(request.path, request.user),
        "stock_short": facts.stock_short,
        "strip": facts.strip,
        "countries": facts.countries,
        "phase": run_phase(run, today),
        "forecast": facts.forecast,
        "basis": facts.basis,
        "draft": draft,
        "import_roster": button(IMPORT_ROSTER, run=run),
        "practice": practice,
        "no_site": not printed_address(request, practice),
        "fonts_note": facts.fonts_note,
    }
    return render(request, "rentals/run/detail.html", context)


@get_or_post
def run_new(request: DeskRequest) -> HttpResponse:
    """Plan a run."""
    return _run_form(request, CourseRun(), "plan a run")


@get_or_post
def run_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Change a run's days, type or note."""
    return _run_form(request, get_object_or_404(CourseRun, pk=pk), "change a run")


def _run_form(request: DeskRequest, run: CourseRun, act: str) -> HttpResponse:
    # A refused form has written its words on the run already; the heading keeps the name.
    title = run.name
    proposed = proposed_days(run.starts_on, run.ends_on)
    form = RunForm(posted(request), instance=run)
    return form_page(
        request,
        form,
        "rentals/run/form.html",
        act=act,
        do=lambda _: save_run(form.instance),
        context={
            "run": run,
            "title": title,
            "proposed": proposed,
            "no_types": not KitType.objects.filter(active=True).exists(),
        },
    )


@require_safe
def run_days(request: DeskRequest) -> HttpResponse:
    """The days that the rules give a run which starts and ends on the days in the address."""
    form = RunSpanForm(request.GET)
    form.is_valid()
    answers = form.cleaned_data
    proposed = proposed_days(answers.get("starts_on"), answers.get("ends_on"))
    context = {"form": form, "proposed": proposed}
    return page_or_part(request, "rentals/run/days.html", "rentals/run/_days.html", context)
