"""Keeping what Setup says about mail: wordings, reminder rules, calendar links."""

from __future__ import annotations

import secrets
from datetime import datetime

from django.db import IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.languages import USUAL_LANGUAGE, language_code
from rentals.models import CalendarLink, MailWording, ReminderRule
from rentals.post.phrases import PHRASE_NAMES, PHRASES
from rentals.post.wording import Wording, check_phrase, check_wording
from rentals.student_tokens import token_digest
from rentals.through_locks import left_out_if_locked

from .record import Actor

Moment = ReminderRule.Moment
# : The rules a new desk may begin with; each drafts, none sends by itself. Common practice, no
# published source.
USUAL_RULES = (
    (5, Moment.AFTER_DISPATCH),
    (7, Moment.BEFORE_DUE),
    (3, Moment.AFTER_DUE),
    (14, Moment.AFTER_DUE),
)
TOKEN_BYTES = 24  # 192 random bits; guessing is out of the question.


@transaction.atomic
def save_wording(wording: MailWording) -> MailWording:
    """Keep the practice's own wording of an occasion, or a phrase, in one language. Whether the
    mail is drafted by itself holds for all its languages.

    Raises
    ------
    Refused
        If a name in braces is unknown or a brace stands alone; says which, and which names there
        are. If the language is none.
    """
    if language_code(wording.language) != wording.language:
        raise Refused("There is no such language.", field="language")
    if wording.occasion in PHRASES:
        check_phrase(wording.text, PHRASE_NAMES)
    else:
        check_wording(Wording(wording.subject, wording.text))
    MailWording.objects.update_or_create(
        occasion=wording.occasion,
        language=wording.language,
        defaults={
            "subject": wording.subject.strip(),
            "text": wording.text.strip(),
            "drafted_by_itself": wording.drafted_by_itself,
        },
    )
    others = MailWording.objects.filter(occasion=wording.occasion)
    others.update(drafted_by_itself=wording.drafted_by_itself)
    return wording


@transaction.atomic
def drop_wording(occasion: str, language: str = USUAL_LANGUAGE) -> None:
    """Go back to the wording Kitdesk came with, or, in another language than its own, to none."""
    MailWording.objects.filter(occasion=occasion, language=language).delete()


@transaction.atomic
def save_rule(rule: ReminderRule) -> ReminderRule:
    """Keep a new or changed reminder rule; Refused where there is the same one already."""
    try:
        with transaction.atomic():
            rule.save()
    except IntegrityError as twin:
        raise Refused("There is such a rule already: change that one.", field="days") from twin
    return rule


@transaction.atomic
def remove_rule(rule: ReminderRule) -> None:
    """Take a rule away; what it has drafted stays."""
    rule.delete()


@transaction.atomic
def add_usual_rules() -> int:
    """Add the usual rules that are not there yet; returns how many that were."""
    added = 0
    for days, moment in USUAL_RULES:
        added += ReminderRule.objects.get_or_create(days=days, moment=moment, working_days=False)[1]
    return added


@transaction.atomic
def make_calendar_link(name: str, *, actor: Actor = None, at: datetime | None = None) -> str:
    """A new private address for the calendar feed. Returns its token, which is shown this once."""
    token = secrets.token_urlsafe(TOKEN_BYTES)
    CalendarLink.objects.create(
        name=name.strip()[:60],
        token_sha256=token_digest(token),
        made_at=at or timezone.now(),
        made_by=actor,
    )
    return token


@transaction.atomic
def renew_calendar_link(
    link: CalendarLink, *, actor: Actor = None, at: datetime | None = None
) -> str:
    """A new address in place of one that nobody knows any more, or too many do; the
    one before answers nobody. Returns the new token.

    Raises
    ------
    Refused
        If the address was revoked already.
    """
    if not revoke_calendar_link(link, at=at):
        raise Refused("This address was revoked: make one under a name of its own.")
    return make_calendar_link(link.name, actor=actor, at=at)


@transaction.atomic
def revoke_calendar_link(link: CalendarLink, *, at: datetime | None = None) -> int:
    """From now on the address answers nobody; it is never used again. Returns how many were revoked
    by this.
    """
    return CalendarLink.objects.filter(pk=link.pk, revoked_at__isnull=True).update(
        revoked_at=at or timezone.now()
    )


def note_calendar_read(link: CalendarLink, *, at: datetime | None = None) -> None:
    """Remember that a calendar asked for the feed, once a day at most."""
    at = at or timezone.now()
    if link.read_at is None or timezone.localdate(link.read_at) != timezone.localdate(at):
        with left_out_if_locked():
            CalendarLink.objects.filter(pk=link.pk).update(read_at=at)
