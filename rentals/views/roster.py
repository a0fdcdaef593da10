"""Roster import: send a file, look at what it would do, mend it, import it."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from rentals.actions.roster import (
    choose_columns,
    correct_rows,
    discard_draft,
    import_draft,
    keep_draft,
    leave_out_bad,
)
from rentals.forms.roster import ColumnsForm, RosterFileForm, corrections_in
from rentals.models import CourseRun, RosterDraft
from rentals.selectors.rosters import column_samples, people_of
from rentals.selectors.runs import waiting_draft
from rentals.web.acting import carry_out
from rentals.web.finding import page_of

from .roster_rows import Shown, preview_of, reading_of


@require_http_methods(["GET", "HEAD", "POST"])
def upload(request: HttpRequest, pk: int) -> HttpResponse:
    """Takes a roster file; it is only kept as a draft until its preview is clean."""
    run = get_object_or_404(CourseRun, pk=pk)
    posted = request.method == "POST"
    form = RosterFileForm(request.POST, request.FILES) if posted else RosterFileForm()
    if posted and form.is_valid():

        def do() -> str:
            name = form.cleaned_data["file"].name
            return keep_draft(
                run, form.sheet, file_name=name, actor=request.user
            ).get_absolute_url()

        answer = carry_out(request, "send a roster", do, form=form)
        if answer is not None:
            return answer
    return render(
        request, "rentals/run/import.html", {"run": run, "form": form, "draft": waiting_draft(run)}
    )


def _draft(pk: int, draft: int) -> RosterDraft:
    return get_object_or_404(
        RosterDraft.objects.select_related("run", "run__kit_type"), pk=draft, run=pk
    )


def _lacking(draft: RosterDraft) -> bool:
    fields = draft.content["fields"]
    return "email" not in fields or not {"name", "first_name", "last_name"} & set(fields)


@require_http_methods(["GET", "HEAD", "POST"])
def preview(request: HttpRequest, pk: int, draft: int) -> HttpResponse:
    """What the import would do, row by row; every bad row named. One form corrects, leaves out and
    imports.
    """
    if not RosterDraft.objects.filter(pk=draft).exists():
        # From an old tab or the Back button: the run is the place to go on.
        run = get_object_or_404(CourseRun, pk=pk)
        messages.info(request, "That roster was discarded, or another file took its place.")
        return HttpResponseRedirect(reverse("rentals:run_import", args=[run.pk]))
    kept = _draft(pk, draft)
    if kept.imported_at:
        messages.info(request, f"This roster was imported: {kept.result}")
        return HttpResponseRedirect(kept.run.get_absolute_url())
    if _lacking(kept):
        return HttpResponseRedirect(reverse("rentals:roster_columns", args=[pk, draft]))
    if request.method == "POST":
        answer = carry_out(request, "correct a roster", _deciding(request, kept))
        # A refused import rolls its transaction back, the corrections typed with it included: note
        # them by themselves.
        return answer or _noted(request, kept)
    people = people_of(kept)
    shown = preview_of(people, request.GET.get("show", ""))
    page = page_of(request, shown.rows)
    context = {"run": kept.run, "draft": kept, "shown": shown, "page": page, **reading_of(kept)}
    return render(request, "rentals/run/preview.html", context)


def _deciding(request: HttpRequest, kept: RosterDraft) -> Callable[[], str]:
    act = request.POST.get("do", "save")

    def do() -> str:
        _correct(request, kept)
        if act == "leave_bad":
            leave_out_bad(kept)
        elif act == "leave_enrolled":
            leave_out_bad(kept, only_enrolled=True)
        elif act == "import":
            done = import_draft(kept, actor=request.user)
            messages.success(request, f"Roster imported: {done.result}")
            return kept.run.get_absolute_url()
        return Shown.address(kept, request.POST.get("show", ""), request.POST.get("page", ""))

    return do


def _correct(request: HttpRequest, kept: RosterDraft) -> None:
    before = {row.number: row.person for row in people_of(kept)}
    found = corrections_in(request.POST.dict(), before)
    correct_rows(kept, fixes=found.fixes, left_out=found.left_out, keep=found.keep)


def _noted(request: HttpRequest, kept: RosterDraft) -> HttpResponse:
    if not RosterDraft.objects.filter(pk=kept.pk, imported_at__isnull=True).exists():
        return HttpResponseRedirect(kept.run.get_absolute_url())
    _correct(request, kept)
    return HttpResponseRedirect(kept.get_absolute_url())


@require_http_methods(["GET", "HEAD", "POST"])
def columns(request: HttpRequest, pk: int, draft: int) -> HttpResponse:
    """Asks which column is what; the answer can be changed until the import."""
    kept = _draft(pk, draft)
    if kept.imported_at:
        return HttpResponseRedirect(kept.run.get_absolute_url())
    content = kept.content
    posted = request.method == "POST"
    form = ColumnsForm(
        request.POST if posted else None,
        heads=content["heads"],
        fields=content["fields"],
        samples=column_samples(kept),
    )
    if posted and form.is_valid():
        answer = carry_out(
            request,
            "name columns",
            lambda: choose_columns(kept, form.chosen).get_absolute_url(),
            form=form,
        )
        if answer is not None:
            return answer
    return render(
        request,
        "rentals/run/columns.html",
        {"run": kept.run, "draft": kept, "form": form, "lacking": _lacking(kept)},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def discard(request: HttpRequest, pk: int, draft: int) -> HttpResponse:
    """Throws the draft away; its address opened leads back to the preview."""
    kept = _draft(pk, draft)
    if request.method != "POST":
        return HttpResponseRedirect(kept.get_absolute_url())

    def do() -> str:
        discard_draft(kept)
        messages.info(request, f"{kept.file_name} was discarded; nothing of it was saved.")
        return reverse("rentals:run_import", args=[pk])

    return carry_out(request, "discard a roster", do) or HttpResponseRedirect(
        kept.run.get_absolute_url()
    )
