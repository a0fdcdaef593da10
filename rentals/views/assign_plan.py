"""Kits for the students of one or several runs: the plan shown, accepted, pinned."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from rentals.actions import earmark
from rentals.actions.accept_plan import Accepted, accept_plan
from rentals.counts import counted
from rentals.forms.assign_plan import AcceptPlanForm
from rentals.models import Enrolment
from rentals.selectors.assign_lines import AssignList, assign_list
from rentals.selectors.assign_plan import runs_to_plan
from rentals.web.acting import next_address, press_button
from rentals.web.finding import page_of
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.ticked import ticked_rows

RUNS_OFFERED = 60
ROWS_ON_A_PAGE = 100


@get_or_post
def plan_assign(request: DeskRequest) -> HttpResponse:
    """The plan of the runs named in the address as a list of before and after, to accept."""
    today = timezone.localdate()
    offered = list(runs_to_plan(today)[:RUNS_OFFERED])
    chosen = set(ticked_rows(request, "run"))
    if len(offered) == 1:
        # Where there is only one, nobody need choose it.
        chosen = {offered[0].pk}
    runs = [run for run in offered if run.pk in chosen]
    anew = request.GET.get("anew") == "1"
    planned = assign_list(runs, today, anew=anew)
    form = AcceptPlanForm(posted(request), changing=planned.changing, digest=planned.facts.digest)
    return form_page(
        request,
        form,
        "rentals/plan/assign.html",
        act="accept a plan",
        do=lambda data: accept_plan(
            runs, form.accepted(), digest=data["digest"], today=today, actor=request.user
        ),
        then=request.get_full_path(),
        success=_accepted,
        context=lambda: {
            "offered": offered,
            "chosen": chosen,
            "runs": runs,
            "anew": anew,
            "plan": planned,
            "page": page_of(request, planned.lines, ROWS_ON_A_PAGE),
            "count": len(planned.changing),
            "ticked": set(form.ticked),
            "moved": _moved(form, planned),
            "digest": planned.facts.digest,
        },
    )


def _accepted(done: Accepted) -> str:
    sentences = []
    if done.set_aside:
        aside = counted(done.set_aside, "kit is", "kits are")
        sentences.append(f"{aside} set aside: the run's page for assigning proposes them.")
    if done.assigned:
        sentences.append(
            f"{counted(done.assigned, 'student has', 'students have')} another kit assigned."
        )
    return " ".join(sentences) or "All of this was agreed already."


def _moved(form: AcceptPlanForm, planned: AssignList) -> list[str]:
    """What the plan gives now in place of what was shown when it was sent."""
    if not form.is_bound:
        return []
    shown = form.shown
    return [
        f"{line.enrolment.student.name}: {shown[line.enrolment.pk]} was proposed,"
        f" now {line.after or 'no kit'}."
        for line in planned.lines
        if shown.get(line.enrolment.pk, line.after) != line.after
    ]


@require_POST
def pin(request: DeskRequest, pk: int) -> HttpResponse:
    """The kit set aside for a student is pinned, or unpinned where `pinned` is empty."""
    enrolment = get_object_or_404(Enrolment, pk=pk)
    pinned = bool(request.POST.get("pinned"))
    return press_button(
        request,
        "pin a kit" if pinned else "unpin a kit",
        lambda: earmark.pin(enrolment, pinned=pinned, actor=request.user),
        home=next_address(request, reverse("rentals:plan_assign")),
        success=_pinned,
    )


def _pinned(row: Any) -> str:
    name = row.enrolment.student.name
    if row.pinned:
        return f"Kit {row.kit.code} stays with {name} when plans are made."
    return f"Kit {row.kit.code} is no longer pinned for {name}."
