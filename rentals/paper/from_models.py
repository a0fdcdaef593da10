"""From rows to facts: the only part of the paper that knows the database. It reads and never
writes.

Callers that print many loans should pass them through ``with_all_facts`` first: then a run takes
the same few queries however many loans it has.
"""

from collections.abc import Iterable
from datetime import date, datetime

from django.conf import settings
from django.db.models import QuerySet
from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import (
    OPEN_STAGES,
    ContentsLine,
    CourseRun,
    Kit,
    LabelSheet,
    LeadSet,
    Loan,
    LoanStage,
    PackingLine,
    Part,
    Practice,
    Shortfall,
    Student,
)

from . import facts
from .contents_statement import parcel_mass_g
from .fonts import FontChooser, fonts_at_hand
from .sheets import SHEETS, Sheet


def fonts() -> FontChooser:
    """The font chooser with the font files that the setting KITDESK_FONTS names."""
    return fonts_at_hand(tuple(str(path) for path in getattr(settings, "KITDESK_FONTS", ())))


def with_all_facts(loans: QuerySet[Loan]) -> QuerySet[Loan]:
    """The same loans with everything loaded that the papers need."""
    return loans.select_related(
        "kit__kit_type", "enrolment__student", "enrolment__run", "overridden_by"
    ).prefetch_related(
        "packing_lines__stock_item",
        "kit__parts",
        "kit__kit_type__lines__stock_item",
        "shortfalls__packing_line",
    )


def practice_facts(practice: Practice | None = None) -> facts.Practice:
    """The practice; its address only where it has one, the site address from the settings where it
    names none.
    """
    practice = practice or Practice.current()
    address = facts.Address(
        name=practice.name,
        street=practice.street,
        city=practice.city,
        postcode=practice.postcode,
        region=practice.region,
        country=str(practice.country or ""),
    )
    return facts.Practice(
        name=practice.name,
        instructor=practice.instructor,
        email=practice.email,
        phone=practice.phone,
        address=address if practice.street or practice.city else None,
        site_url=practice.site_url or settings.SITE_URL,
        currency=practice.currency,
        paper=practice.paper,
        locale=settings.LANGUAGE_CODE,
    )


def student_address(student: Student) -> facts.Address | None:
    """Where the student's parcel goes; nothing while street and town are unknown."""
    if not (student.street or student.city):
        return None
    return facts.Address(
        name=student.name,
        street=student.street,
        city=student.city,
        postcode=student.postcode,
        region=student.region,
        country=str(student.country or ""),
    )


def packing_list_facts(
    loan: Loan, practice: facts.Practice | None = None
) -> facts.PackingListFacts:
    """One parcel: its frozen list, or, before packing has begun, what the kit is to contain now."""
    run, student = loan.enrolment.run, loan.enrolment.student
    saved = list(loan.packing_lines.all())
    by = loan.overridden_by
    return facts.PackingListFacts(
        practice=practice or practice_facts(),
        kit_code=loan.kit.code,
        kit_type=loan.kit.kit_type.name,
        student=student.name,
        run=run.name,
        lines=tuple(_packing_line(line) for line in saved) or tuple(_expected_lines(loan.kit)),
        return_by=loan.due_on,
        post_by=loan.post_by,
        packed_on=_day(loan.packed_at),
        sent_on=_day(loan.dispatched_at),
        course_from=run.starts_on,
        course_to=run.ends_on,
        care=loan.kit.kit_type.instructions,
        override_reason=loan.override_reason,
        overridden_by=(by.get_full_name() or by.get_username()) if by else "",
        address=student_address(student),
        deposit=loan.deposit,
    )


def run_facts(
    run: CourseRun, loans: Iterable[Loan] | None = None, practice: facts.Practice | None = None
) -> facts.RunFacts:
    """A run with its open loans, by kit code; or with the given ones, in the order given."""
    practice = practice or practice_facts()
    if loans is None:
        open_loans = Loan.objects.filter(enrolment__run=run, stage__in=OPEN_STAGES)
        loans = with_all_facts(open_loans).order_by("kit__code")
    return facts.RunFacts(
        practice=practice,
        name=run.name,
        post_by=run.post_by,
        return_by=run.return_by,
        loans=(packing_list_facts(loan, practice) for loan in loans),
    )


def address_label_facts(
    loan: Loan, practice: facts.Practice | None = None
) -> facts.AddressLabelFacts | None:
    """The parcel's label; nothing while the student's address is unknown. Mass as weighed, else
    from the parts.
    """
    practice = practice or practice_facts()
    to = student_address(loan.enrolment.student)
    if to is None:
        return None
    mass = loan.parcel_mass_g or parcel_mass_g(packing_list_facts(loan, practice).lines)
    return facts.AddressLabelFacts(to, practice.address, loan.kit.code, mass, practice.locale)


def return_label_facts(loan: Loan, practice: facts.Practice) -> facts.AddressLabelFacts | None:
    """The label for the way back, to put into the parcel; nothing while the practice has no
    address.
    """
    if practice.address is None:
        return None
    return facts.AddressLabelFacts(
        practice.address, student_address(loan.enrolment.student), loan.kit.code, 0, practice.locale
    )


def statement_facts(loan: Loan, practice: facts.Practice | None = None) -> facts.StatementFacts:
    """Deposit and shortfalls of a loan; as of the day it was settled, or of today while it is
    not.
    """
    settled = loan.stage == LoanStage.SETTLED
    return facts.StatementFacts(
        practice=practice or practice_facts(),
        kit_code=loan.kit.code,
        student=loan.enrolment.student.name,
        run=loan.enrolment.run.name,
        deposit=loan.deposit,
        settled_on=(_day(_settled_at(loan)) if settled else None) or timezone.localdate(),
        charges=tuple(_charge(shortfall) for shortfall in loan.shortfalls.all()),
        sent_on=_day(loan.dispatched_at),
        came_back_on=_day(loan.arrived_at),
        address=student_address(loan.enrolment.student),
        settled=settled,
    )


def kit_label(kit: Kit, practice: facts.Practice) -> facts.LabelFacts:
    """A kit's label: its type, and whom to write to when it is found."""
    return facts.LabelFacts(
        kit.code,
        kit.kit_type.name,
        tuple(filter(None, (practice.email, practice.phone))),
        practice.site_url,
        practice.name,
    )


def part_label(part: Part, practice: facts.Practice) -> facts.LabelFacts:
    """A part's label: its kind and serial."""
    return facts.LabelFacts(
        part.code, part.get_kind_display(), (f"serial {part.serial}",), practice.site_url
    )


def lead_tags(lead_set: LeadSet, practice: facts.Practice) -> list[facts.LabelFacts]:
    """A tag for each lead of a set: its role and colour, under the code of the set."""
    return [
        facts.LabelFacts(
            lead_set.code,
            lead.get_role_display(),
            tuple(filter(None, (lead.colour,))),
            practice.site_url,
        )
        for lead in lead_set.leads.all()
    ]


def sheet_of(row: LabelSheet) -> Sheet:
    """A sheet that the practice measured itself. Raises ValueError, saying what does not fit (see
    ``Sheet``).
    """
    return Sheet(
        row.name,
        (float(row.page_width), float(row.page_height)),
        row.columns,
        row.rows,
        (float(row.label_width), float(row.label_height)),
        (float(row.pitch_across), float(row.pitch_down)),
        (float(row.margin_left), float(row.margin_top)),
        (float(row.nudge_right), float(row.nudge_down)),
    )


def sheets_at_hand() -> dict[str, Sheet]:
    """Built-in sheets and the practice's own, by name."""
    return SHEETS | {row.name: sheet_of(row) for row in LabelSheet.objects.all()}


def _packing_line(line: PackingLine) -> facts.PackingLineFacts:
    return facts.PackingLineFacts(
        name=line.name,
        part_kind=line.part_kind,
        quantity=line.quantity,
        inner_bag=line.inner_bag,
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
    )


def _expected_lines(kit: Kit) -> Iterable[facts.PackingLineFacts]:
    """What goes out with a kit whose list is not drawn up yet: its serial parts by code, the rest
    as counted.
    """
    fitted: dict[str, list[Part]] = {}
    for part in sorted(kit.parts.all(), key=lambda part: part.code):
        fitted.setdefault(part.kind, []).append(part)
    for line in kit.kit_type.lines.all():
        if line.tracked_by != ContentsLine.Tracked.SERIAL:
            yield _expected(line, line.quantity, None)
            continue
        for part in fitted.get(line.part_kind, [])[: line.quantity]:
            yield _expected(line, 1, part)


def _expected(line: ContentsLine, quantity: int, part: Part | None) -> facts.PackingLineFacts:
    return facts.PackingLineFacts(
        name=line.name,
        part_kind=line.part_kind,
        quantity=quantity,
        inner_bag=line.inner_bag,
        serial=part.serial if part else "",
        part_code=part.code if part else "",
        comes_back=line.comes_back,
        single_use=line.single_use,
        cleaned=line.cleaned_between_users,
        mass_g=line.mass_g,
        price=line.replacement_price,
        shelf=line.stock_item.shelf if line.stock_item else "",
        origin=str(line.origin or ""),
    )


def _charge(shortfall: Shortfall) -> facts.ChargeFacts:
    return facts.ChargeFacts(
        part=shortfall.packing_line.name,
        what=shortfall.get_kind_display(),
        quantity=shortfall.quantity,
        amount=shortfall.amount,
        state=shortfall.state,
        reason=shortfall.reason,
    )


def _settled_at(loan: Loan) -> datetime | None:
    event = loan.events.filter(verb=Verb.SETTLED.value).order_by("-pk").first()
    return event.at if event else loan.closed_at


def _day(moment: datetime | None) -> date | None:
    return timezone.localtime(moment).date() if moment else None
