"""The link to a student's page: made, renewed, stopped, and put into a mail that leaves."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.db import IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Loan, Practice, StudentLink
from rentals.post.facts import Letter
from rentals.selectors.student_links import (
    derived_token,
    has_ended,
    is_stopped,
    link_in_force,
    token_of_link,
)
from rentals.student_tokens import has_marker, new_nonce, token_digest, with_token
from rentals.through_locks import left_out_if_locked

from .record import Actor, lock_kit, record_kit
from .renew_mail import renew_loan


def ensure_link(loan: Loan, *, at: datetime | None = None) -> StudentLink | None:
    """The loan's link, made where there has been none yet; None where somebody stopped it, which
    stands until a new one is asked for. Safe to repeat, and by two at once.
    """
    link = link_in_force(loan)
    if link is not None or is_stopped(loan):
        return link
    try:
        with transaction.atomic():
            return _made(loan, at or timezone.now())
    except IntegrityError:
        return StudentLink.objects.filter(loan=loan, revoked_at__isnull=True).first()


def _made(loan: Loan, at: datetime) -> StudentLink:
    nonce = new_nonce()
    digest = token_digest(derived_token(loan.pk, nonce))
    return StudentLink.objects.create(loan=loan, nonce=nonce, token_sha256=digest, made_at=at)


@transaction.atomic
def renew_link(loan: Loan, *, actor: Actor = None, at: datetime | None = None) -> str:
    """A new link; the one before opens nothing any more. Returns the new token, which is shown this
    once and then only leaves in mails.

    Raises
    ------
    Refused
        If the page of the loan has ended.
    """
    at = at or timezone.now()
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.get(pk=loan.pk)
    if has_ended(loan, Practice.current(), timezone.localdate(at)):
        raise Refused("The loan has ended, and the student's page with it.")
    _stop_all(loan, at)
    link = _made(loan, at)
    text = "A new link to the student's page was made; the one before opens nothing any more."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    renew_loan(loan, at=at)
    return token_of_link(link)


@transaction.atomic
def stop_link(loan: Loan, *, actor: Actor = None, at: datetime | None = None) -> Loan:
    """The link opens nothing any more, and no mail carries one until a new one is made. Safe to
    repeat.
    """
    at = at or timezone.now()
    kit = lock_kit(loan.kit_id)
    if _stop_all(loan, at):
        text = "The link to the student's page was stopped."
        record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
        renew_loan(loan, at=at)
    return loan


def _stop_all(loan: Loan, at: datetime) -> int:
    links = StudentLink.objects.filter(loan=loan, revoked_at__isnull=True)
    return links.update(revoked_at=at)


def note_link_used(link: StudentLink, *, at: datetime | None = None) -> None:
    """Remember that the page was opened, once a day at most."""
    at = at or timezone.now()
    used = link.last_used_at
    if used is None or timezone.localdate(used) != timezone.localdate(at):
        with left_out_if_locked():
            StudentLink.objects.filter(pk=link.pk).update(last_used_at=at)


def with_student_page(letter: Letter, loan: Loan | None) -> Letter:
    """A letter as it leaves: the student's own link where its stored text holds the marker.

    Raises
    ------
    Refused
        If the link was stopped.
    """
    if loan is None or not has_marker(letter.text):
        return letter
    token = _token_for_mail(loan)
    return replace(letter, text=with_token(letter.text, token), html=with_token(letter.html, token))


@transaction.atomic
def _token_for_mail(loan: Loan) -> str:
    link = ensure_link(loan)
    if link is None:
        raise Refused(
            "The link to the student's page was stopped: make a new one on the loan's page, or take"
            " its line out of the mail."
        )
    token = token_of_link(link)
    if token:
        return token
    # The desk's key is another one than when the link was made: only a new link can be written.
    now = timezone.now()
    _stop_all(loan, now)
    return token_of_link(_made(loan, now))
