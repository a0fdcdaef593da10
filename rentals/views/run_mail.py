"""One mail for a whole run: choose what it is about, see who gets it, let all of them go."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Page
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from rentals.actions.approve import BatchApproval
from rentals.actions.mail_run import mail_run
from rentals.forms.messages import RunMailForm
from rentals.models import CourseRun, Message
from rentals.selectors.run_mail import Addressee, addressees, sample_letter
from rentals.web.acting import carry_out
from rentals.web.finding import page_of
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.ticked import ticked_rows

REASONS_SHOWN = 10
LEFT_OUT_SHOWN = 20
ON_ONE_PAGE = 200
"""Students of all but the largest runs; of those, one page is sent at a time."""


@get_or_post
def mail_all(request: DeskRequest, pk: int) -> HttpResponse:
    """Whom of a run a mail goes to, and one button that sends it."""
    run = get_object_or_404(CourseRun, pk=pk)
    context = {"run": run, "occasions": Message.Occasion.choices}
    sent = request.POST if request.method == "POST" else request.GET
    occasion = sent.get("occasion", "")
    if occasion not in Message.Occasion.values:
        return render(request, "rentals/run/mail.html", context)
    rows = addressees(run, occasion, timezone.localdate())
    if ticked := set(ticked_rows(request, "enrolment")):
        rows = [row for row in rows if row.enrolment.pk in ticked]
    writable = [row for row in rows if row.loan and not row.problem]
    page = page_of(request, writable, ON_ONE_PAGE)
    form = RunMailForm(posted(request), rows=list(page))
    answer = carry_out(
        request,
        "mail a run",
        lambda: mail_run(run, occasion, form.cleaned_data["loans"], actor=request.user),
        then=lambda approval: _after_approval(request, run, approval),
        form=form,
    )
    left_out = [row for row in rows if row.problem]
    shown = {
        **context,
        **_shown(form, page, occasion),
        "left_out": left_out[:LEFT_OUT_SHOWN],
        "left_out_count": len(left_out),
        "left_out_more": max(0, len(left_out) - LEFT_OUT_SHOWN),
    }
    return answer or page_again(request, "rentals/run/mail.html", shown, refused=form.is_bound)


def _after_approval(request: DeskRequest, run: CourseRun, approval: BatchApproval) -> str:
    """Say which mails stay drafts; the page to go to."""
    for sentence in approval.staying[:REASONS_SHOWN]:
        messages.warning(request, f"Stays a draft: {sentence}")
    if approval.batch is None:
        return reverse("rentals:run_mail", args=[run.pk])
    return approval.batch.get_absolute_url()


def _shown(form: RunMailForm, page: Page[Addressee], occasion: str) -> dict[str, Any]:
    ticked = {str(loan) for loan in form["loans"].value() or []}
    rows = [(row, row.loan) for row in page if row.loan]
    chosen = [loan for _, loan in rows if str(loan.pk) in ticked]
    first = chosen[0] if chosen else None
    return {
        "occasion": occasion,
        "occasion_name": Message.Occasion(occasion).label,
        "form": form,
        "page": page,
        "rows": [(row, loan in chosen) for row, loan in rows],
        "ticked": len(chosen),
        "sample": sample_letter(first, occasion) if first else None,
        "sample_name": first.enrolment.student.name if first else "",
    }
