"""Facts at the time of sending: what a mail says is true on the day it leaves.

A mail keeps what its names stood for when it was filled. ``renew`` compares that with the loan as
it stands: untouched words are filled anew, words that a person changed are held with a sentence,
and a mail that an event has overtaken is dropped and says so. It runs once a day on what waits,
when a draft is approved, and last of all before a mail is handed to the server.
"""

from __future__ import annotations

from datetime import date, datetime

from django.db.models import Q
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Loan, Message, Practice, ReturnCheck, Shortfall
from rentals.next_acts.occasions import LoanStanding, overtaken
from rentals.post.changed import changed_facts, held_sentence
from rentals.post.letter import html_page
from rentals.selectors.arrival import arrival_check_of
from rentals.selectors.letters import FilledLetter, filled_letter
from rentals.selectors.wordings import wordings_of
from rentals.states import UNSENT_MAILS, LoanStage

from .mail_rows import lock_mail, new_message_id, note_step

State = Message.State


@transaction.atomic
def renew(message: Message, *, at: datetime | None = None) -> Message:
    """The mail with the facts of now, locked: as it was, filled anew, held as a draft, or
    discarded. Only a mail that is still in the house is touched; one that belongs to no loan has no
    facts.
    """
    message = lock_mail(message)
    if message.loan_id is None or message.state not in UNSENT_MAILS:
        return message
    at = at or timezone.now()
    loan = _loan_of(message)
    reason = why_overtaken(message.occasion, loan, timezone.localdate(at))
    if reason:
        return _stop(message, State.DISCARDED, reason, f"Discarded. {reason}", at)
    filled = letter_now(message.occasion, loan, at)
    language_stands = not message.language or message.language == filled.language
    if message.facts == filled.values and (message.edited or language_stands):
        return _seen(message, at)
    if not message.edited:
        return _fill_anew(message, filled, at)
    sentence = _held(message, loan, at)
    if not sentence:
        return _seen(message, at)
    return _stop(message, State.DRAFT, sentence, f"Held. {sentence}", at)


def renew_loan(loan: Loan, *, at: datetime | None = None) -> None:
    """Bring every mail of a loan that is still in the house up to date: its facts have changed."""
    for message in Message.objects.filter(loan=loan, state__in=UNSENT_MAILS).order_by("pk"):
        renew(message, at=at)


def renew_waiting(*, now: datetime | None = None) -> int:
    """Look once a day at every draft; returns how many were looked at."""
    now = now or timezone.now()
    drafts = Message.objects.filter(state=State.DRAFT, loan__isnull=False)
    stale = drafts.filter(~Q(facts_on=timezone.localdate(now)) | Q(facts_on=None))
    messages = list(stale.order_by("pk").only("pk"))
    for message in messages:
        renew(message, at=now)
    return len(messages)


def check_true(message: Message, *, at: datetime | None = None) -> None:
    """Raise Refused where a mail would be untrue today and must not go again, or where words that a
    person changed do not agree with the loan.
    """
    if message.loan_id is None:
        return
    at = at or timezone.now()
    loan = _loan_of(message)
    reason = why_overtaken(message.occasion, loan, timezone.localdate(at))
    if reason:
        raise Refused(f"{reason} This mail would be untrue: write a new one from the loan's page.")
    sentence = _held(message, loan, at) if message.edited else ""
    if sentence:
        raise Refused(sentence)


def facts_now(message: Message, at: datetime) -> dict[str, str]:
    """What the names of a mail's wording stand for now; nothing for a mail of no loan."""
    if not message.loan_id:
        return {}
    return _letter_as_written(message, _loan_of(message), at).values


def why_overtaken(occasion: str, loan: Loan, today: date) -> str:
    """The sentence that says which event has overtaken a mail of a loan; empty where none has."""
    lacks = loan.shortfalls.filter(state__in=Shortfall.UNSETTLED).exists()
    partly_back = loan.stage == LoanStage.AWAY and ReturnCheck.objects.filter(loan=loan).exists()
    asks_arrival = occasion == Message.Occasion.ARRIVED
    standing = LoanStanding(
        LoanStage(loan.stage),
        loan.due_on,
        loan.on_its_way_back,
        lacks,
        partly_back,
        arrival_told=asks_arrival and arrival_check_of(loan) is not None,
    )
    return overtaken(occasion, standing, today)


def letter_now(occasion: str, loan: Loan, at: datetime) -> FilledLetter:
    """The letter of an occasion on a loan at a moment, in the language that is right now."""
    return filled_letter(loan, wordings_of(occasion), today=timezone.localdate(at))


def _letter_as_written(message: Message, loan: Loan, at: datetime) -> FilledLetter:
    """The same in the language in which a person found and changed it."""
    wordings, today = wordings_of(message.occasion), timezone.localdate(at)
    return filled_letter(loan, wordings, today=today, language=message.language)


def _loan_of(message: Message) -> Loan:
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return loans.get(messages=message)


def _held(message: Message, loan: Loan, at: datetime) -> str:
    filled = _letter_as_written(message, loan, at)
    changes = changed_facts(
        message.facts,
        filled.values,
        wording=filled.wording,
        text=f"{message.subject}\n{message.body_text}",
    )
    return held_sentence(changes)


def _seen(message: Message, at: datetime) -> Message:
    """Its words hold today too; a paper that was printed earlier is printed anew."""
    today = timezone.localdate(at)
    released = message.state == State.DRAFT and message.last_error != ""
    if message.facts_on == today and not released:
        return message
    message.facts_on = today
    message.last_error = "" if released else message.last_error
    _print_anew(message)
    message.save(update_fields=["facts_on", "last_error", "state"])
    return message


def _fill_anew(message: Message, filled: FilledLetter, at: datetime) -> Message:
    letter, values = filled.words, filled.values
    if message.facts.get("shortfalls") != values["shortfalls"]:
        # It asks for what lacks now, so it is as young as that: see `chase_asked_for`.
        message.drafted_at = at
    if (message.subject, message.body_text) != (letter.subject, letter.text):
        note_step(message, "Brought up to date with the loan as it stands.", at=at)
        if message.state != State.DRAFT:
            message.message_id = new_message_id(Practice.current())  # Other words: another mail.
    message.subject, message.body_text = letter.subject, letter.text
    message.language = filled.language
    message.body_html = html_page(letter.subject, letter.text, filled.language)
    message.facts, message.facts_on = values, timezone.localdate(at)
    _print_anew(message)
    message.save()
    return message


def _print_anew(message: Message) -> None:
    message.attachments.exclude(paper="").update(content=b"")
    if message.state == State.QUEUED:
        message.state = State.APPROVED


def _stop(message: Message, state: str, reason: str, step: str, at: datetime) -> Message:
    """Keep a mail from going. One that has gone before stays sent, and is not sent again."""
    sent_before = message.sent_at is not None
    if sent_before:
        state = State.SENT
    elif state == State.DRAFT and _has_newer_draft(message):
        state = State.FAILED
    if (message.state, message.last_error) != (state, reason):
        note_step(message, f"Not sent again. {reason}" if sent_before else step, at=at)
    message.state, message.last_error = state, "" if sent_before else reason[:500]
    message.facts_on, message.next_try_at = timezone.localdate(at), None
    message.save(update_fields=["state", "last_error", "facts_on", "next_try_at"])
    return message


def _has_newer_draft(message: Message) -> bool:
    drafts = Message.objects.filter(loan=message.loan, occasion=message.occasion, state=State.DRAFT)
    return drafts.exclude(pk=message.pk).exists()
