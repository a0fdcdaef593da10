"""What is sent to a student while the course goes on, in place of something faulty."""

from __future__ import annotations

from datetime import timedelta
from functools import partial

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from rentals.actions.replace_kit import replace_kit
from rentals.codes import grouped
from rentals.dates import short_date
from rentals.forms.replacements import ReplaceKitForm
from rentals.models import Loan
from rentals.planning.free_kits import FreeKit
from rentals.selectors.runs import free_kits
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post

KITS_OFFERED = 200
USUAL_DAYS = timedelta(days=14)


@get_or_post
def another_kit(request: DeskRequest, pk: int) -> HttpResponse:
    """Another kit in place of a faulty one that is with the student."""
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run__kit_type")
    loan = get_object_or_404(loans, pk=pk)
    student, free = loan.enrolment.student, free_kits(loan.enrolment.run)
    page = ActPage(
        f"Another kit for {student.name}, in place of {grouped(loan.kit.code)}",
        "Send the other kit",
        (
            f"The other kit is to be packed today and stays until {short_date(loan.due_on)}.",
            f"Kit {grouped(loan.kit.code)} stays on loan until it is back, due on the day below.",
            "The deposit goes over to the new loan.",
        ),
        undo="Unassigning the other kit takes all of it back, until that is packed.",
        form_class=partial(_form, free),
    )
    return act_page(
        request,
        page,
        lambda data: replace_kit(loan, actor=request.user, **data),
        home=loan.get_absolute_url(),
        act="replace a kit",
        then=lambda after: reverse("rentals:loan", args=[after.pk]),
        success=lambda after: f"Kit {after.kit.code} goes out instead: pack it.",
        initial={"due_on": timezone.localdate() + USUAL_DAYS},
        template="rentals/plan/swap.html",
        context={"offered": free[:KITS_OFFERED]},
    )


def _form(free: list[FreeKit], data: object, *, initial: object = None) -> ReplaceKitForm:
    return ReplaceKitForm(data, free=free, initial=initial)
