"""Assigning kits to all students of a run who have none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from rentals.actions.runs import assign_all
from rentals.counts import counted
from rentals.dates import short_date
from rentals.due_dates import post_words
from rentals.forms.runs import AssignForm
from rentals.models import CourseRun, Loan
from rentals.planning.ahead import left_short
from rentals.planning.assignment import FreeKit, KitProposal, propose
from rentals.selectors.runs import enrolments_without_kit, free_kits
from rentals.selectors.runs_ahead import runs_before
from rentals.web.finding import page_of
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted

#: Codes offered while typing; a fleet may have thousands of kits, a list on the page should not.
KITS_OFFERED = 120


@get_or_post
def run_assign(request: DeskRequest, pk: int) -> HttpResponse:
    """A kit proposed for each student without one; all are assigned in one go, each can be
    changed.
    """
    run = get_object_or_404(CourseRun.objects.select_related("kit_type"), pk=pk)
    page = page_of(request, enrolments_without_kit(run))
    kits = free_kits(run)
    proposals = propose([enrolment.pk for enrolment in page], kits)
    form = AssignForm(posted(request), enrolments=page, proposals=proposals)
    return form_page(
        request,
        form,
        "rentals/run/assign.html",
        act="assign kits",
        do=lambda _: assign_all(form.pairs, actor=request.user),
        then=lambda loans: _page_after(run, loans, kits),
        success=lambda loans: _assigned(run, loans, kits),
        context=lambda: {"run": run, "page": page, **_proposed(run, form, proposals, kits)},
    )


def _page_after(run: CourseRun, loans: Sequence[Loan], kits: Sequence[FreeKit]) -> str:
    """The next students where some of them and some kits are left, else the run."""
    goes_on = loans and len(kits) > len(loans) and enrolments_without_kit(run).exists()
    return reverse("rentals:run_assign", args=[run.pk]) if goes_on else run.get_absolute_url()


def _assigned(run: CourseRun, loans: Sequence[Loan], kits: Sequence[FreeKit]) -> str:
    count = counted(len(loans), "kit assigned", "kits assigned")
    uncleared = sum(not loan.kit.cleared for loan in loans)
    if uncleared:
        count += f"; {uncleared} of them must pass the bench before packing"
    return f"{count}. {_taken_from(run, len(loans) - uncleared, kits)}".strip()


def _taken_from(run: CourseRun, taken: int, kits: Sequence[FreeKit]) -> str:
    """Which run that is posted earlier will lack the cleared kits that are taken; empty for none.

    `kits` are those that were free before.
    """
    today = timezone.localdate()
    cleared = sum(kit.cleared for kit in kits)
    short = left_short(taken, cleared, runs_before(run, today))
    if short is None:
        return ""
    ahead = short.run
    students = counted(ahead.waiting, "student", "students")
    left = counted(short.left, "cleared kit", "cleared kits") if short.left else "no cleared kit"
    return (
        f"{ahead.name} has {students} without a kit and is to be posted earlier, on"
        f" {short_date(ahead.post_by)} ({post_words(ahead.post_by, today)}): this leaves {left}"
        " for it."
    )


def _proposed(
    run: CourseRun, form: AssignForm, proposals: Sequence[KitProposal], kits: Sequence[FreeKit]
) -> dict[str, Any]:
    by_code = {kit.code: kit for kit in kits}
    rows = []
    for proposal in proposals:
        name = f"kit_{proposal.who}"
        kit = by_code.get(form[name].value() or "")
        rows.append((proposal, form.enrolments[name], form[name], kit))
    taken = sum(kit is not None and kit.cleared for *_, kit in rows)
    return {
        "rows": rows,
        "taken_from": _taken_from(run, taken, kits),
        "offered": kits[:KITS_OFFERED],
        "free": len(kits),
        "cleared": sum(kit.cleared for kit in kits),
        "proposed": sum(proposal.kit is not None for proposal in proposals),
    }
