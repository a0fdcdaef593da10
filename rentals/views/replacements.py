"""What is sent to a student while the course goes on, in place of something faulty."""

from __future__ import annotations

from datetime import timedelta
from functools import partial

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.replace_kit import replace_kit
from rentals.actions.replace_part import (
    ask_replacement,
    cancel_replacement,
    line_to_send,
    send_replacement,
)
from rentals.actions.replaced_back import note_faulty_back
from rentals.codes import grouped
from rentals.dates import short_date
from rentals.forms.replacements import ReplaceKitForm, ReplacePartForm, SendForm
from rentals.models import Loan, Replacement
from rentals.paper.contents_statement import contents_statement
from rentals.paper.packing_list import packing_list
from rentals.planning.free_kits import FreeKit
from rentals.selectors.paper_facts.packing_lists import slip_facts
from rentals.selectors.paper_facts.practice import house_fonts
from rentals.selectors.replacements import lines_to_replace
from rentals.selectors.runs import free_kits
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post

from .printing import pdf_answer, sender_facts

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


@get_or_post
def another_part(request: DeskRequest, pk: int) -> HttpResponse:
    """A part in place of a faulty one, while the kit stays with the student."""
    loans = Loan.objects.select_related("kit", "enrolment__student")
    loan = get_object_or_404(loans, pk=pk)
    lines = lines_to_replace(loan)
    page = ActPage(
        f"A part for {loan.enrolment.student.name}, in place of a faulty one",
        "Put it down",
        ("It is to be packed and sent next. The faulty one stays on the list of what comes back.",),
        undo="It can be cancelled until it is sent.",
        form_class=partial(ReplacePartForm, lines=lines),
    )
    return act_page(
        request,
        page,
        lambda data: ask_replacement(**data, actor=request.user),
        home=loan.get_absolute_url(),
        act="replace a part",
        then=loan.get_absolute_url() + "#replacements",
        success=lambda row: f"{row} is to be packed and sent.",
    )


def _replacement(pk: int) -> Replacement:
    of_the_loan = ("loan__kit__kit_type", "loan__enrolment__student", "loan__enrolment__run")
    rows = Replacement.objects.select_related(*of_the_loan, "faulty", "part", "stock_item")
    return get_object_or_404(rows, pk=pk)


@get_or_post
def send(request: DeskRequest, pk: int) -> HttpResponse:
    """The parcel with a replacement is handed over."""
    row = _replacement(pk)
    what = f"{row} {row.part.code}, serial {row.part.serial}" if row.part else str(row)
    page = ActPage(
        f"Send {row} to {row.loan.enrolment.student.name}",
        "It is on its way",
        (f"In the parcel: {what}.", "It becomes a line of the loan and must come back with it.")
        if row.faulty.comes_back
        else (f"In the parcel: {what}.",),
        form_class=SendForm,
    )
    return act_page(
        request,
        page,
        lambda data: send_replacement(row, actor=request.user, **data),
        home=row.get_absolute_url(),
        template="rentals/loan/replacement_send.html",
        context={"replacement": row},
    )


@get_or_post
def cancel(request: DeskRequest, pk: int) -> HttpResponse:
    """Nothing goes out after all."""
    row = _replacement(pk)
    page = ActPage(
        f"Do not send {row}",
        "Cancel the replacement",
        ("The spare is free for others. The faulty part stays with the kit.",),
        undo="A replacement can be put down again on the loan's page.",
    )
    return act_page(
        request,
        page,
        lambda _: cancel_replacement(row, actor=request.user),
        home=row.get_absolute_url(),
    )


@get_or_post
def faulty_back(request: DeskRequest, pk: int) -> HttpResponse:
    """The faulty part is here by itself."""
    row = _replacement(pk)
    page = ActPage(
        f"{row.faulty.name}, the faulty one, is here",
        "It is here",
        ("It is marked damaged, and counts as back on the check of its kit.",),
    )
    return act_page(
        request,
        page,
        lambda _: note_faulty_back(row, actor=request.user),
        home=row.get_absolute_url(),
    )


@require_safe
def slip_pdf(request: DeskRequest, pk: int) -> HttpResponse:
    """What is in the parcel of a replacement, as a packing list; with ``?contents=1`` its value,
    mass and origin for customs.
    """
    row = _replacement(pk)
    lines = list(row.lines.select_related("part", "stock_item")) or [line_to_send(row)]
    if request.GET.get("contents") == "1":
        facts = slip_facts(row, lines, sender_facts(request), students_words=False)
        try:
            printed = contents_statement(facts, fonts=house_fonts())
        except ValueError as lacks:
            messages.error(request, f"The contents statement cannot be made: {lacks}")
            return HttpResponseRedirect(row.get_absolute_url())
        return pdf_answer(printed, f"contents-{row.loan.kit.code}-{row.pk}")
    facts = slip_facts(row, lines, sender_facts(request))
    printed = packing_list(facts, fonts=house_fonts())
    return pdf_answer(printed, f"packing-slip-{row.loan.kit.code}-{row.pk}")
