"""Assigning kits to all students of a run who have none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.forms import BoundField
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from rentals.actions.runs import assign_all
from rentals.codes import is_code, parse_code
from rentals.counts import counted
from rentals.dates import short_date
from rentals.due_dates import post_words
from rentals.forms.runs import AssignForm
from rentals.models import CourseRun, Enrolment, Loan
from rentals.planning.ahead import left_short
from rentals.planning.free_kits import FreeKit, KitProposal, propose, why_no_kit
from rentals.selectors.assign_lines import planned_kits
from rentals.selectors.runs import enrolments_without_kit, free_kits
from rentals.selectors.runs_ahead import runs_before
from rentals.web.finding import page_of
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.ticked import ticked_rows

#: Codes offered while typing; a fleet may have thousands of kits, a list on the page should not.
KITS_OFFERED = 120


@get_or_post
def run_assign(request: DeskRequest, pk: int) -> HttpResponse:
    """A kit proposed for each student without one; all are assigned in one go, each can be
    changed.
    """
    run = get_object_or_404(CourseRun.objects.select_related("kit_type"), pk=pk)
    waiting = enrolments_without_kit(run)
    if ticked := ticked_rows(request, "enrolment"):
        waiting = waiting.filter(pk__in=ticked)
    page = page_of(request, waiting)
    kits = free_kits(run)
    codes = {enrolment.pk: vars(enrolment)["set_aside"] for enrolment in page}
    set_aside = {pk: code for pk, code in codes.items() if code}
    planned, to_mend = planned_kits(run, timezone.localdate())
    proposals = propose(list(codes), kits, set_aside, planned, to_mend)
    form = AssignForm(posted(request), enrolments=page, proposals=proposals)
    return form_page(
        request,
        form,
        "rentals/run/assign.html",
        act="assign kits",
        do=lambda _: assign_all(form.pairs, actor=request.user),
        then=lambda loans: run.get_absolute_url() if ticked else _page_after(run, loans, kits),
        success=lambda loans: _assigned(run, loans, kits),
        context=lambda: {
            "run": run,
            "page": page,
            "all_served": "All of them have a kit"
            if ticked
            else "Nobody on this run waits for a kit",
            **_proposed(run, form, proposals, kits, set_aside),
        },
    )


def _page_after(run: CourseRun, loans: Sequence[Loan], kits: Sequence[FreeKit]) -> str:
    """The next students where some of them and some kits are left, else the run."""
    goes_on = loans and len(kits) > len(loans) and enrolments_without_kit(run).exists()
    return reverse("rentals:run_assign", args=[run.pk]) if goes_on else run.get_absolute_url()


def _assigned(run: CourseRun, loans: Sequence[Loan], kits: Sequence[FreeKit]) -> str:
    assigned = {loan.kit.code for loan in loans}
    taken = [kit for kit in kits if kit.code in assigned]
    sentence = counted(len(loans), "kit assigned", "kits assigned")
    if uncleared := sum(bool(kit.uncleared) for kit in taken):
        sentence += f"; {uncleared} of them must pass the bench before packing"
    if lacking := sum(bool(kit.lacks) for kit in taken):
        sentence += f"; {lacking} of them must be made complete"
    ready = sum(kit.may_go_out for kit in taken)
    return f"{sentence}. {_taken_from(run, ready, kits)}".strip()


def _taken_from(run: CourseRun, taken: int, kits: Sequence[FreeKit]) -> str:
    """Which run that is posted earlier will lack the cleared kits that are taken; empty for none.

    `kits` are those that were free before.
    """
    today = timezone.localdate()
    ready = sum(kit.may_go_out for kit in kits)
    short = left_short(taken, ready, runs_before(run, today))
    if short is None:
        return ""
    ahead = short.run
    students = counted(ahead.waiting, "student", "students")
    left = counted(short.left, "cleared kit", "cleared kits") if short.left else "no cleared kit"
    return (
        f"{ahead.name} has {students} waiting for a kit and is to be posted earlier, on"
        f" {short_date(ahead.post_by)} ({post_words(ahead.post_by, today)}): this leaves {left}"
        " for it."
    )


@dataclass(frozen=True)
class AssignRow:
    """One student's row: the kit that stands in the field, or why there is none.
    `instead_of` names the kit of the plan where that is not here.
    """

    enrolment: Enrolment
    field: BoundField
    kit: FreeKit | None
    no_kit: str
    set_aside: bool = False
    instead_of: str = ""


def _row(
    form: AssignForm,
    proposal: KitProposal,
    by_code: Mapping[str, FreeKit],
    by_own: Mapping[int, str],
) -> AssignRow:
    name = f"kit_{proposal.who}"
    field = form[name]
    typed = str(field.value() or "").strip()
    own_code = by_own.get(proposal.who, "")
    no_kit = why_no_kit(
        typed=bool(typed),
        proposed=proposal.kit is not None,
        set_aside=own_code,
        planned=proposal.planned,
    )
    kit = by_code.get(parse_code(typed)) if is_code(typed) else None
    enrolment = form.enrolments[name]
    own = kit is not None and own_code == kit.code
    instead = (
        f"the plan gives {proposal.planned}, not to be assigned yet" if proposal.planned else ""
    )
    return AssignRow(enrolment, field, kit, no_kit, own, instead if kit else "")


def _proposed(
    run: CourseRun,
    form: AssignForm,
    proposals: Sequence[KitProposal],
    kits: Sequence[FreeKit],
    set_aside: Mapping[int, str],
) -> dict[str, Any]:
    by_code = {kit.code: kit for kit in kits}
    rows = [_row(form, proposal, by_code, set_aside) for proposal in proposals]
    taken = sum(row.kit is not None and row.kit.may_go_out for row in rows)
    return {
        "rows": rows,
        "taken_from": _taken_from(run, taken, kits),
        "offered": kits[:KITS_OFFERED],
        "free": len(kits),
        "ready": sum(kit.may_go_out for kit in kits),
        "proposed": sum(proposal.kit is not None for proposal in proposals),
    }
