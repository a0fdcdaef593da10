"""From rows to what the post room takes: the facts of a loan, a mail as a letter, its sender."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from email.utils import parseaddr

from django.conf import settings
from django.utils import timezone

from rentals.catalogues import in_language
from rentals.models import (
    Loan,
    LoanStage,
    Message,
    PackingLine,
    Practice,
    ReturnLine,
    Shortfall,
)
from rentals.planning.payment_code import loan_reference
from rentals.planning.settlement import Claim, pay_by, settled
from rentals.planning.starter import in_students_words
from rentals.post.facts import Enclosure, LackingPart, Letter, ListedPart, LoanFacts, MailSender
from rentals.post.languages import choose_language, locale_for
from rentals.post.values import loan_values
from rentals.post.wording import Wording, fill

from .carriers import tracking_url
from .cells import cell_outlook
from .enclosures import content_of
from .ledger import claims_of, loan_currency, loan_lines
from .paper_facts.practice import practice_facts
from .paper_facts.statements import settled_on, was_written_off
from .student_links import marked_page
from .wordings import Wordings

#: How many earlier mails of a loan are named, so that the header stays short.
MOST_FOLLOWED = 10


def letter_of(message: Message) -> Letter:
    """The mail as it goes out, with its papers."""
    attachments = message.attachments.select_related("message")
    return Letter(
        to_name=message.to_name,
        to_address=message.to_address,
        subject=message.subject,
        text=message.body_text,
        message_id=message.message_id,
        html=message.body_html,
        automatic=message.automatic,
        enclosures=tuple(
            Enclosure(attachment.file_name, content_of(attachment), attachment.content_type)
            for attachment in attachments
        ),
        follows=_earlier_of_its_loan(message),
        language=message.language,
    )


def _earlier_of_its_loan(message: Message) -> tuple[str, ...]:
    """The Message-IDs of the newest mails of its loan that have gone before it, oldest first."""
    if message.loan_id is None:
        return ()
    sent = Message.objects.filter(loan=message.loan_id, state=Message.State.SENT)
    earlier = sent.exclude(pk=message.pk).order_by("-sent_at", "-pk")
    message_ids = earlier.values_list("message_id", flat=True)[:MOST_FOLLOWED]
    return tuple(reversed(message_ids))


def mail_sender(practice: Practice | None = None) -> MailSender:
    """The practice, at the address the settings give this desk."""
    practice = practice or Practice.current()
    return MailSender(
        name=practice.name,
        address=parseaddr(settings.DEFAULT_FROM_EMAIL)[1],
        answers_to=practice.email,
        bounces_to=getattr(settings, "BOUNCE_ADDRESS", ""),
    )


@dataclass(frozen=True)
class FilledLetter:
    """The wording of an occasion for one loan with what its names stand for, and its language."""

    wording: Wording
    values: dict[str, str]
    language: str

    @property
    def words(self) -> Wording:
        """The letter as the student gets it."""
        return fill(self.wording, self.values)


def filled_letter(
    loan: Loan,
    wordings: Wordings,
    *,
    today: date,
    practice: Practice | None = None,
    language: str = "",
) -> FilledLetter:
    """The letter of an occasion on a loan: in the student's language as far as there is a wording,
    or in the one that is asked for.
    """
    practice = practice or Practice.current()
    student = loan.enrolment.student.language
    used = language or choose_language(student, practice.mail_language, wordings.languages)
    locale = locale_for(used, student, settings.LANGUAGE_CODE)
    with in_language(locale):
        facts = loan_facts(loan, practice)
    facts = replace(
        facts,
        practice=replace(facts.practice, locale=locale),
        phrases=wordings.phrases(used),
    )
    facts = _with_cells(facts, loan, today)
    with in_language(locale):
        values = loan_values(facts, today=today)
    return FilledLetter(wordings.wording(used), values, used)


def _with_cells(facts: LoanFacts, loan: Loan, today: date) -> LoanFacts:
    """The facts with the day by which the cells are to be charged or replaced."""
    outlook = cell_outlook(loan, today)
    day = outlook.next_on(today) if outlook else None
    if outlook is None or day is None:
        return facts
    if outlook.rechargeable:
        return replace(facts, charge_by=day)
    return replace(facts, renew_by=day)


def loan_facts(loan: Loan, of: Practice | None = None) -> LoanFacts:
    """All that a letter of a practice may say about a loan, as it stands now."""
    practice = replace(practice_facts(of), currency=loan_currency(loan, of))
    student = loan.enrolment.student
    shortfalls = loan.shortfalls.select_related("packing_line")
    sums = settled(loan_lines(loan), claims_of(shortfalls), practice.currency)
    dispatched_at = loan.dispatched_at
    return LoanFacts(
        practice=practice,
        student=student.name,
        run=loan.enrolment.run.name,
        kit_code=loan.kit.code,
        due_on=loan.due_on,
        post_by=loan.post_by,
        student_country=str(student.country or ""),
        sent_on=timezone.localdate(dispatched_at) if dispatched_at else None,
        carrier=loan.carrier,
        tracking_number=loan.tracking_number,
        tracking_link=tracking_url(loan),
        student_page=marked_page(loan, of or Practice.current(), timezone.localdate()),
        packed=_packed(loan),
        lacking=tuple(_lacking(shortfall) for shortfall in shortfalls),
        came_back=loan.arrived_at is not None,
        written_off=was_written_off(loan),
        borne_by_us=sums.written_off,
        undecided=sums.undecided,
        pay_by=pay_by(settled_on(loan), practice.days_to_pay),
        balance_paid_on=sums.paid_on,
        refunded=sums.refunded,
        paid=sums.paid,
        reference=loan_reference(loan.pk),
        deposit=sums.deposit,
        charged=sums.charged,
        refund=sums.refund,
        to_pay=sums.to_pay,
    )


def _packed(loan: Loan) -> tuple[ListedPart, ...]:
    """The packing list; while the rest of a kit that came in part is awaited, with what is out."""
    lines = loan.packing_lines.exclude(replacements__faulty_back_at__isnull=False)
    lines = lines.select_related("return_line")
    awaited = loan.stage == LoanStage.AWAY
    return tuple(
        replace(_listed(line, line.quantity), still_out=_still_out(line) if awaited else None)
        for line in lines
    )


def _still_out(line: PackingLine) -> int | None:
    """Pieces of a line that have not come; None where nothing of its kit has."""
    returned: ReturnLine | None = getattr(line, "return_line", None)
    return None if returned is None else line.quantity - returned.quantity_back


def _listed(line: PackingLine, quantity: int) -> ListedPart:
    return ListedPart(in_students_words(line.name), quantity, line.serial, line.comes_back)


def _claim(shortfall: Shortfall) -> Claim:
    return Claim(shortfall.amount, shortfall.state)


def _lacking(shortfall: Shortfall) -> LackingPart:
    claim = _claim(shortfall)
    return LackingPart(
        part=_listed(shortfall.packing_line, shortfall.quantity),
        missing=shortfall.kind == Shortfall.Kind.MISSING,
        amount=shortfall.amount,
        detail=shortfall.detail,
        unsettled=claim.undecided,
        charged=claim.charged,
        for_good=claim.charged or claim.written_off,
    )
