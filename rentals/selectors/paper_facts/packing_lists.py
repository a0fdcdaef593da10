"""Facts of a packing list, and of a whole run of them.

Callers that print many loans pass them through ``with_all_facts`` first: then a run takes the same
few queries however many loans it has.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from django.db.models import QuerySet
from django.utils import timezone

from rentals.catalogues import in_language
from rentals.models import (
    OPEN_STAGES,
    ContentsLine,
    CourseRun,
    Loan,
    PackingLine,
    Part,
    Replacement,
)
from rentals.paper.facts import (
    PackingLineFacts,
    PackingListFacts,
    PracticeFacts,
    RunFacts,
    StockShortFacts,
)
from rentals.planning.cell_words import student_sentence
from rentals.planning.contents import Piece
from rentals.planning.starter import in_students_words
from rentals.selectors.cells import cell_outlook
from rentals.selectors.contents import pieces_of
from rentals.selectors.stock_ahead import stock_short_for

from .leads import leads_in_words
from .practice import in_students_language, practice_facts, student_address


def with_all_facts(loans: QuerySet[Loan]) -> QuerySet[Loan]:
    """The same loans with everything loaded that the papers need."""
    return loans.select_related(
        "kit__kit_type", "enrolment__student", "enrolment__run", "overridden_by"
    ).prefetch_related(
        "packing_lines__stock_item",
        "packing_lines__part__leadset__leads",
        "kit__parts__leadset__leads",
        "kit__parts__batterypack",
        "kit__kit_type__lines__stock_item",
        "shortfalls__packing_line",
    )


def packing_list_facts(loan: Loan, practice: PracticeFacts | None = None) -> PackingListFacts:
    """One parcel: its frozen list, or, before packing has begun, what the kit is to contain now;
    in the language of the practice's locale.
    """
    practice = practice or practice_facts()
    with in_language(practice.locale):
        return _facts_of(loan, practice)


def students_list_facts(loan: Loan, practice: PracticeFacts | None = None) -> PackingListFacts:
    """The same in the language that the student reads."""
    student = loan.enrolment.student
    return packing_list_facts(loan, in_students_language(practice or practice_facts(), student))


def slip_facts(
    replacement: Replacement,
    lines: Iterable[PackingLine],
    practice: PracticeFacts,
    *,
    students_words: bool = True,
) -> PackingListFacts:
    """The parcel of a replacement that is sent by itself: these lines, for the same student."""
    facts_of = students_list_facts if students_words else packing_list_facts
    facts = facts_of(replacement.loan, practice)
    with in_language(facts.practice.locale):
        packed = tuple(_packed(line) for line in lines)
    day = day_of(replacement.sent_at)
    return replace(facts, lines=packed, packed_on=day, sent_on=day, deposit=Decimal(0))


def _facts_of(loan: Loan, practice: PracticeFacts) -> PackingListFacts:
    run, student = loan.enrolment.run, loan.enrolment.student
    return PackingListFacts(
        practice=practice,
        kit_code=loan.kit.code,
        kit_type=in_students_words(loan.kit.kit_type.name),
        student=student.name,
        run=run.name,
        lines=_lines_of(loan),
        return_by=loan.due_on,
        post_by=loan.post_by,
        packed_on=day_of(loan.packed_at),
        sent_on=day_of(loan.dispatched_at),
        course_from=run.starts_on,
        course_to=run.ends_on,
        care=in_students_words(loan.kit.kit_type.instructions),
        cells=_cells(loan),
        override_reason=loan.override_reason,
        overridden_by=_who_overrode(loan),
        address=student_address(student),
        deposit=loan.deposit,
        student_phone=student.phone,
        student_email=student.email,
    )


def run_facts(
    run: CourseRun,
    loans: Iterable[Loan] | None = None,
    practice: PracticeFacts | None = None,
    *,
    inside_copy: bool = False,
) -> RunFacts:
    """A run with its open loans, by kit code; or with the given ones, in the order given. Each list
    is in the language that its student reads, but for copies that stay inside.
    """
    facts_of = packing_list_facts if inside_copy else students_list_facts
    practice = practice or practice_facts()
    if loans is None:
        loans = run_loans(run)
    return RunFacts(
        practice=practice,
        name=run.name,
        post_by=run.post_by,
        return_by=run.return_by,
        loans=(facts_of(loan, practice) for loan in loans),
        stock_short=tuple(
            StockShortFacts(short.item.name, short.words, short.item.shelf)
            for short in stock_short_for(run, timezone.localdate())
        ),
    )


def run_loans(run: CourseRun, enrolments: Sequence[int] = ()) -> QuerySet[Loan]:
    """The parcels of a run whose lists are printed, in their order: all that are open, or those of
    these enrolments.
    """
    loans = Loan.objects.filter(enrolment__run=run, stage__in=OPEN_STAGES)
    if enrolments:
        loans = loans.filter(enrolment__in=enrolments)
    return with_all_facts(loans).order_by("kit__code")


def day_of(moment: datetime | None) -> date | None:
    """The day of a moment where the practice is; nothing for none."""
    return timezone.localtime(moment).date() if moment else None


def _cells(loan: Loan) -> str:
    """What the student is to do with the cells; empty where nothing is known of them."""
    outlook = cell_outlook(loan, timezone.localdate())
    return student_sentence(outlook) if outlook else ""


def _who_overrode(loan: Loan) -> str:
    user = loan.overridden_by
    return (user.get_full_name() or user.get_username()) if user else ""


def _lines_of(loan: Loan) -> tuple[PackingLineFacts, ...]:
    packed = tuple(_packed(line) for line in loan.packing_lines.all())
    return packed or tuple(_expected(piece) for piece in pieces_of(loan.kit))


def _packed(line: PackingLine) -> PackingLineFacts:
    return PackingLineFacts(
        name=in_students_words(line.name),
        part_kind=line.part_kind,
        quantity=line.quantity,
        inner_bag=in_students_words(line.inner_bag),
        serial=line.serial,
        part_code=line.part_code,
        batch=line.batch_number,
        expires_on=line.expires_on,
        comes_back=line.comes_back,
        single_use=line.single_use,
        cleaned=line.cleaned_between_users,
        mass_g=line.mass_g,
        price=line.replacement_price,
        shelf=line.stock_item.shelf if line.stock_item else "",
        origin=str(line.origin or ""),
        tariff_number=line.tariff_number,
        leads=leads_in_words(line.part),
    )


def _expected(piece: Piece[ContentsLine, Part]) -> PackingLineFacts:
    line, part = piece.line, piece.part
    return PackingLineFacts(
        name=in_students_words(line.name),
        part_kind=line.part_kind,
        quantity=piece.quantity,
        inner_bag=in_students_words(line.inner_bag),
        serial=part.serial if part else "",
        part_code=part.code if part else "",
        comes_back=line.comes_back,
        single_use=line.single_use,
        cleaned=line.cleaned_between_users,
        mass_g=line.mass_g,
        price=line.replacement_price,
        shelf=line.stock_item.shelf if line.stock_item else "",
        origin=str(line.origin or ""),
        tariff_number=line.tariff_number,
        leads=leads_in_words(part),
    )
