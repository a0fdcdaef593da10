"""Course runs: the list, one run with who has what, and a run's own form."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from rentals.actions.runs import save_run
from rentals.forms.runs import RunForm
from rentals.models import CourseRun, KitType
from rentals.selectors.runs import (
    enrolments_of,
    holding,
    run_counts,
    run_phase,
    runs_listed,
    waiting_draft,
)
from rentals.web.acting import carry_out
from rentals.web.finding import asked, page_of

from .papers import run_fonts_note


@require_safe
def run_list(request: HttpRequest) -> HttpResponse:
    """All runs, newest first."""
    q = asked(request)
    page = page_of(request, runs_listed(q))
    today = timezone.localdate()
    rows = [(run, run_phase(run, today)) for run in page]
    context = {"page": page, "rows": rows, "q": q, "total": CourseRun.objects.count()}
    return render(request, "rentals/run/list.html", context)


@require_safe
def run(request: HttpRequest, pk: int) -> HttpResponse:
    """One run: who has what, and what is next."""
    run = get_object_or_404(CourseRun.objects.select_related("kit_type"), pk=pk)
    q = asked(request)
    today = timezone.localdate()
    page = page_of(request, enrolments_of(run, q))
    context = {
        "run": run,
        "page": page,
        "rows": [holding(enrolment, today) for enrolment in page],
        "q": q,
        "total": run.enrolments.count(),
        "counts": run_counts(run, today),
        "phase": run_phase(run, today),
        "draft": waiting_draft(run),
        "fonts_note": run_fonts_note(run),
    }
    return render(request, "rentals/run/detail.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def run_new(request: HttpRequest) -> HttpResponse:
    """Plan a run."""
    return _run_form(request, CourseRun(), "plan a run")


@require_http_methods(["GET", "HEAD", "POST"])
def run_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a run's days, type or note."""
    return _run_form(request, get_object_or_404(CourseRun, pk=pk), "change a run")


def _run_form(request: HttpRequest, run: CourseRun, act: str) -> HttpResponse:
    title = run.name
    form = RunForm(request.POST if request.method == "POST" else None, instance=run)
    if request.method == "POST" and form.is_valid():
        answer = carry_out(
            request, act, lambda: save_run(form.instance).get_absolute_url(), form=form
        )
        if answer is not None:
            return answer
    context = {
        "form": form,
        "run": run,
        "title": title,
        "no_types": not KitType.objects.filter(active=True).exists(),
    }
    return render(request, "rentals/run/form.html", context)
