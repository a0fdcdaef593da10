"""The papers of one loan: which there are, what of them cannot be printed, and the customs and
settling sheets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.models import CourseRun, Loan, LoanStage, Practice
from rentals.paper.addresses import needs_contents_statement
from rentals.paper.contents_statement import contents_statement, parcel_mass_g
from rentals.paper.coverage import Coverage, coverage, texts_of
from rentals.paper.facts import Printed
from rentals.paper.statement import settling_statement
from rentals.selectors.labels import loan_texts, run_texts
from rentals.selectors.paper_facts.packing_lists import packing_list_facts, with_all_facts
from rentals.selectors.paper_facts.practice import house_fonts, practice_facts, student_address
from rentals.selectors.paper_facts.statements import statement_facts

from .labels import labels_address, pdf_answer, sender_facts

ENDED = (LoanStage.RETURNED, LoanStage.LOST, LoanStage.SETTLED)


@dataclass(frozen=True)
class Paper:
    """One paper that can be printed now."""

    what: str
    why: str
    url: str


def papers_of(loan: Loan, *, packing_list: bool = True) -> dict[str, Any]:
    """The papers of a loan for its pages: ``papers``, and ``fonts_note`` with what cannot be
    printed in them.

    The packing bench shows the packing list itself and leaves it out here.
    """
    practice = Practice.current()
    return {
        "papers": list(_papers(loan, practice, packing_list)),
        "fonts_note": _covered(practice, loan_texts(loan)),
    }


def run_fonts_note(run: CourseRun) -> Coverage:
    """What of a run's papers cannot be printed with the fonts at hand."""
    return _covered(Practice.current(), run_texts(run))


def _covered(practice: Practice, texts: Iterator[str]) -> Coverage:
    return coverage((*texts_of(practice_facts(practice)), *texts), house_fonts())


def _papers(loan: Loan, practice: Practice, packing_list: bool) -> Iterator[Paper]:
    sender, to = practice_facts(practice).address, student_address(loan.enrolment.student)
    if packing_list and loan.packed_at:
        pdf = reverse("rentals:loan_packing_list", args=[loan.pk])
        yield Paper("Packing list", "to go into the box", pdf)
        yield Paper("Packing list, inside copy", "stays in the house", f"{pdf}?inside=1")
    if loan.stage not in (*ENDED, LoanStage.CANCELLED):
        if to:
            yield Paper(
                "Address label",
                "for the outside of the parcel",
                labels_address(kind="address", loan=loan.pk),
            )
        if sender:
            yield Paper(
                "Return label",
                "to put into the parcel",
                labels_address(kind="return", loan=loan.pk),
            )
    if sender and to and _leaves_customs_area(sender, to):
        sheet = reverse("rentals:loan_contents_statement", args=[loan.pk])
        yield Paper(
            "Contents statement",
            "the parcel leaves your customs area: to copy the carrier's form from",
            sheet,
        )
    if loan.stage in ENDED:
        why = "as settled" if loan.stage == LoanStage.SETTLED else "as it stands today"
        yield Paper("Settling statement", why, reverse("rentals:loan_statement", args=[loan.pk]))


def _leaves_customs_area(sender: Any, to: Any) -> bool:
    try:
        return needs_contents_statement(sender, to)
    except ValueError:  # A country that is none: the statement itself says so when it is asked for.
        return True


def _loan(pk: int) -> Loan:
    return get_object_or_404(with_all_facts(Loan.objects.all()), pk=pk)


def _drawn(
    request: HttpRequest, loan: Loan, name: str, draw: Callable[[], Printed]
) -> HttpResponse:
    """The PDF; facts it cannot be made from (a country or currency that is none) are said on the
    loan's page.
    """
    try:
        printed = draw()
    except ValueError as wrong:
        messages.error(request, f"This cannot be printed: {wrong}")
        return HttpResponseRedirect(loan.get_absolute_url())
    return pdf_answer(printed, f"{name}-{loan.kit.code}")


@require_safe
def contents_statement_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Value, mass and origin of what is in the parcel; what it weighs beyond its parts counts as
    wrapping.
    """
    loan = _loan(pk)
    facts = packing_list_facts(loan, sender_facts(request))
    if not facts.lines:
        raise Http404("Nothing is packed for this loan.")
    wrapping = max(0, (loan.parcel_mass_g or 0) - parcel_mass_g(facts.lines))
    return _drawn(
        request,
        loan,
        "contents-statement",
        lambda: contents_statement(facts, wrapping_g=wrapping, fonts=house_fonts()),
    )


@require_safe
def statement_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Deposit, charges and what goes back."""
    loan = _loan(pk)
    if loan.stage not in ENDED:
        raise Http404("A statement is made once the kit is back or written off.")
    facts = statement_facts(loan, sender_facts(request))
    return _drawn(
        request, loan, "statement", lambda: settling_statement(facts, fonts=house_fonts())
    )
