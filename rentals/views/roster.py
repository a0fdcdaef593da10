"""Roster import: send a file, look at what it would do, mend it, import it."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from rentals.actions.roster import (
    answer_all,
    choose_columns,
    choose_letters,
    correct_rows,
    discard_draft,
    import_draft,
    keep_draft,
    leave_out_bad,
)
from rentals.actions.roster_errand import ask_import, is_long
from rentals.counts import counted
from rentals.forms.roster import ColumnsForm, LettersForm, RosterFileForm, corrections_in
from rentals.models import CourseRun, Errand, RosterDraft
from rentals.selectors.errands import errands_about, errands_of, import_under_way
from rentals.selectors.rosters import (
    column_doubt,
    column_samples,
    lacks_columns,
    letter_readings,
    people_of,
)
from rentals.selectors.runs import waiting_draft
from rentals.web.acting import carry_out
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted, posted_with_files

from .roster_rows import RosterPreview, preview_of, reading_of


@get_or_post
def upload(request: DeskRequest, pk: int) -> HttpResponse:
    """Takes a roster, a file or pasted; it is only kept as a draft until its preview is clean."""
    run = get_object_or_404(CourseRun, pk=pk)
    form = RosterFileForm(*posted_with_files(request))
    return form_page(
        request,
        form,
        "rentals/run/import.html",
        act="send a roster",
        do=lambda _: keep_draft(
            run, form.sheet, file_name=form.source, original=form.original, actor=request.user
        ),
        context={"run": run, "draft": waiting_draft(run)},
    )


def _drafts_of(pk: int) -> QuerySet[RosterDraft]:
    return RosterDraft.objects.select_related("run", "run__kit_type").filter(run=pk)


def _draft(pk: int, draft: int) -> RosterDraft:
    return get_object_or_404(_drafts_of(pk), pk=draft)


def _gone(request: DeskRequest, pk: int, draft: int) -> HttpResponse:
    """For an old tab or the Back button: the run is the place to go on."""
    run = get_object_or_404(CourseRun, pk=pk)
    if RosterDraft.objects.filter(pk=draft).exists():
        raise Http404("That roster belongs to another run.")
    messages.info(request, "That roster was discarded, or another file took its place.")
    return HttpResponseRedirect(reverse("rentals:run_import", args=[run.pk]))


@get_or_post
def preview(request: DeskRequest, pk: int, draft: int) -> HttpResponse:
    """What the import would do, row by row; every bad row named. One form corrects, leaves out and
    imports.
    """
    roster = _drafts_of(pk).filter(pk=draft).first()
    if roster is None:
        return _gone(request, pk, draft)
    if roster.imported_at:
        messages.info(request, f"This roster was imported: {roster.result}")
        return HttpResponseRedirect(roster.run.get_absolute_url())
    if under_way := import_under_way(roster):
        return _being_imported(request, roster, under_way)
    if roster.content.get("letters") and not roster.content["letters_said"]:
        return HttpResponseRedirect(reverse("rentals:roster_letters", args=[pk, draft]))
    if lacks_columns(roster) or column_doubt(roster):
        return HttpResponseRedirect(reverse("rentals:roster_columns", args=[pk, draft]))
    if request.method == "POST":
        answer = carry_out(request, "correct a roster", lambda: _decide(request, roster), then=str)
        return answer or _corrections_kept(request, roster)
    return _preview_page(request, roster)


def _being_imported(request: DeskRequest, roster: RosterDraft, errand: Errand) -> HttpResponse:
    """To the work itself for whoever asked for it, to the run for all others."""
    if request.method == "POST":
        messages.info(request, "It is being imported: nothing in it can be changed meanwhile.")
    may_see = errands_of(request.user).filter(pk=errand.pk).exists()
    return HttpResponseRedirect((errand if may_see else roster.run).get_absolute_url())


def _preview_page(request: DeskRequest, roster: RosterDraft) -> HttpResponse:
    rows_preview = preview_of(people_of(roster), request.GET.get("show", ""))
    page = page_of(request, rows_preview.rows)
    context = {
        "run": roster.run,
        "draft": roster,
        "shown": rows_preview,
        "page": page,
        "errands": errands_about(roster.run.get_absolute_url(), request.user),
    }
    return render(request, "rentals/run/preview.html", {**context, **reading_of(roster)})


def _decide(request: DeskRequest, roster: RosterDraft) -> str:
    """Keep the corrections, then do what was pressed; returns the page to go to."""
    _correct(request, roster)
    pressed = request.POST.get("do", "save")
    if pressed == "import" and is_long(roster):
        return ask_import(roster, actor=request.user).get_absolute_url()
    if pressed == "import":
        imported = import_draft(roster, actor=request.user)
        messages.success(request, f"Roster imported: {imported.result}")
        return roster.run.get_absolute_url()
    if pressed == "answer_postal":
        answer_all(roster, "postal")
    if pressed in ("leave_bad", "leave_enrolled"):
        leave_out_bad(roster, only_enrolled=pressed == "leave_enrolled")
    show, page = request.POST.get("show", ""), request.POST.get("page", "")
    return RosterPreview.address(roster, show, page)


def _correct(request: DeskRequest, roster: RosterDraft) -> None:
    typed = corrections_in(request.POST.dict(), people_of(roster))
    correct_rows(
        roster,
        fixes=typed.fixes,
        left_out=typed.left_out,
        keep=typed.keep,
        answers=typed.answers,
    )


def _corrections_kept(request: DeskRequest, roster: RosterDraft) -> HttpResponse:
    """A refused import rolls its transaction back, the corrections typed with it included: they are
    kept by themselves.
    """
    if not RosterDraft.objects.filter(pk=roster.pk, imported_at__isnull=True).exists():
        return HttpResponseRedirect(roster.run.get_absolute_url())
    _correct(request, roster)
    return HttpResponseRedirect(roster.get_absolute_url())


@get_or_post
def columns(request: DeskRequest, pk: int, draft: int) -> HttpResponse:
    """Asks which column is what; the answer can be changed until the import."""
    roster = _draft(pk, draft)
    if roster.imported_at:
        return HttpResponseRedirect(roster.run.get_absolute_url())
    doubt = column_doubt(roster)
    form = ColumnsForm(
        posted(request),
        heads=roster.content["heads"],
        fields=doubt.fields if doubt else roster.content["fields"],
        samples=column_samples(roster),
    )
    return form_page(
        request,
        form,
        "rentals/run/columns.html",
        act="name columns",
        do=lambda _: choose_columns(roster, form.chosen),
        context={
            "run": roster.run,
            "draft": roster,
            "lacking": lacks_columns(roster),
            "doubt": doubt,
        },
    )


@get_or_post
def letters(request: DeskRequest, pk: int, draft: int) -> HttpResponse:
    """Asks how the letters of a file are read, each way seen on names of the file itself."""
    roster = _draft(pk, draft)
    readings = letter_readings(roster)
    if roster.imported_at or not readings:
        return HttpResponseRedirect(roster.get_absolute_url())
    form = LettersForm(posted(request), readings=readings, chosen=roster.content["letters"])
    return form_page(
        request,
        form,
        "rentals/run/letters.html",
        act="choose letters",
        do=lambda answer: choose_letters(roster, answer["letters"]),
        context={"run": roster.run, "draft": roster, "readings": readings},
    )


@get_or_post
def discard(request: DeskRequest, pk: int, draft: int) -> HttpResponse:
    """Says what was read and corrected, then throws the draft away."""
    roster = _draft(pk, draft)
    rows, fixes = len(roster.content["rows"]), len(roster.content["fixes"])
    effects = [f"{counted(rows, 'row', 'rows')} read from the file; nobody of it is enrolled."]
    if fixes:
        effects.append(f"{counted(fixes, 'row', 'rows')} corrected here: that typing is lost.")
    page = ActPage(
        f"Discard {roster.file_name}",
        submit="Discard",
        effects=tuple(effects),
        undo="The file can be sent again; what was corrected here cannot be brought back.",
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda _: discard_draft(roster),
        home=roster.get_absolute_url(),
        act="discard a roster",
        then=reverse("rentals:run_import", args=[pk]),
        success=f"{roster.file_name} was discarded; nothing of it was saved.",
    )
