"""The papers of a loan that can be printed now, and what in them no font at hand can draw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.http import QueryDict
from django.urls import reverse

from rentals.addresses import page_address
from rentals.models import CourseRun, Loan, LoanStage
from rentals.paper.coverage import Coverage, coverage, texts_of
from rentals.paper.facts import Address, PracticeFacts

from .customs import CustomsFinding, customs_finding
from .paper_facts.practice import house_fonts, practice_facts, student_address
from .paper_texts import loan_texts, run_texts

ENDED = (LoanStage.RETURNED, LoanStage.LOST, LoanStage.SETTLED)
_NOTHING_TO_POST = (*ENDED, LoanStage.CANCELLED)


@dataclass(frozen=True)
class LoanPaper:
    """One paper that can be printed now."""

    what: str
    why: str
    url: str


def printable_papers(loan: Loan, practice: PracticeFacts) -> list[LoanPaper]:
    """The papers of a loan, in the order in which a loan needs them."""
    return [*_packing_lists(loan), *papers_beside_the_list(loan, practice)]


def papers_beside_the_list(loan: Loan, practice: PracticeFacts) -> list[LoanPaper]:
    """All papers of a loan but its packing list."""
    sender = practice.address
    receiver = student_address(loan.enrolment.student)
    return [
        *_parcel_labels(loan, sender, receiver),
        *_contents_statements(loan, loan_customs(loan, practice)),
        *_statements(loan),
    ]


def loan_customs(loan: Loan, practice: PracticeFacts) -> CustomsFinding | None:
    """What is known of customs for a loan's parcel; None where a country is missing, or is none:
    the statement itself says so when it is asked for.
    """
    try:
        return customs_finding(practice.address, student_address(loan.enrolment.student))
    except ValueError:
        return None


def loan_fonts_note(loan: Loan, practice: PracticeFacts) -> Coverage:
    """What of a loan's papers cannot be printed with the fonts at hand."""
    return _covered(practice, loan_texts(loan))


def run_fonts_note(run: CourseRun) -> Coverage:
    """What of a run's papers cannot be printed with the fonts at hand."""
    return _covered(practice_facts(), run_texts(run))


def _covered(practice: PracticeFacts, texts: Iterator[str]) -> Coverage:
    return coverage((*texts_of(practice), *texts), house_fonts())


def _packing_lists(loan: Loan) -> Iterator[LoanPaper]:
    if not loan.packed_at:
        return
    pdf = page_address("rentals:loan_packing_list", loan.pk)
    yield LoanPaper("Packing list", "to go into the box", pdf)
    yield LoanPaper("Packing list, inside copy", "stays in the house", f"{pdf}?inside=1")


def _parcel_labels(
    loan: Loan, sender: Address | None, receiver: Address | None
) -> Iterator[LoanPaper]:
    if loan.stage in _NOTHING_TO_POST:
        return
    if receiver:
        yield LoanPaper(
            "Address label", "for the outside of the parcel", _label_page("address", loan)
        )
    if sender:
        yield LoanPaper("Return label", "to put into the parcel", _label_page("return", loan))


def _contents_statements(loan: Loan, customs: CustomsFinding | None) -> Iterator[LoanPaper]:
    if customs is None or not customs.paper_needed:
        return
    pdf = page_address("rentals:loan_contents_statement", loan.pk)
    why = f"{customs.way.place.name}: to copy the carrier's form from"
    yield LoanPaper("Contents statement", why, pdf)
    yield LoanPaper(
        "Contents statement for the way back", "to put into the parcel", f"{pdf}?way=back"
    )


def _statements(loan: Loan) -> Iterator[LoanPaper]:
    if loan.stage not in ENDED:
        return
    why = "as settled" if loan.stage == LoanStage.SETTLED else "as it stands today"
    pdf = page_address("rentals:loan_statement", loan.pk)
    yield LoanPaper("Settling statement", why, pdf)


def _label_page(kind: str, loan: Loan) -> str:
    """The page of labels with the loan chosen already."""
    query = QueryDict(mutable=True)
    query.update({"kind": kind, "loan": str(loan.pk)})
    return f"{reverse('rentals:labels')}?{query.urlencode()}"
