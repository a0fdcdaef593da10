"""Reading messages for their screens."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, Count, Q, QuerySet, Value, When

from rentals.known_query import KnownQuery, KnownRows
from rentals.models import CourseRun, Message, MessageBatch
from rentals.next_acts import (
    APPROVE_MAIL,
    may_change,
    may_end_by_hand,
    message_act,
    message_sentence,
)
from rentals.row_numbers import row_number
from rentals.selectors.next_steps import Button, button, message_button
from rentals.selectors.search import loans_numbers, together
from rentals.states import MessageState

State = Message.State
RUNS_OFFERED = 40


def messages_listed(filters: Mapping[str, str]) -> QuerySet[Message]:
    """Messages that fit the filter (q, state, occasion, run), newest first, without their long
    texts and what those were filled from.
    """
    fitting = Message.objects.defer("body_text", "body_html", "facts")
    if filters.get("state") in State:
        fitting = fitting.filter(state=filters["state"])
    if filters.get("occasion") in Message.Occasion:
        fitting = fitting.filter(occasion=filters["occasion"])
    run = row_number(filters.get("run", ""))
    if run is not None:
        fitting = fitting.filter(run=run)
    if q := filters.get("q", ""):
        fitting = _found(fitting, q)
    return fitting


def with_way(mails: QuerySet[Message], fields: Iterable[str]) -> QuerySet[Message]:
    """Messages with `life`, the place of the state on a mail's way, where they are sorted by it."""
    if "life" not in fields:
        return mails
    life = [When(state=state, then=Value(place)) for place, state in enumerate(MessageState)]
    return mails.annotate(life=Case(*life))


def drafts_among(
    mails: QuerySet[Message],
    filters: Mapping[str, str],
    shown: int,
    numbers: Collection[int] | None = None,
) -> int:
    """How many of the messages that fit the filter are drafts; `shown` is how many fit, `numbers`
    are theirs, where they are known. Looked up only where the filter leaves it open.
    """
    state = filters.get("state", "")
    if state in State:
        return shown if state == State.DRAFT else 0
    if numbers is None:
        return mails.filter(state=State.DRAFT).count()
    # To search a second time takes longer than to read the numbers of all drafts.
    return len(set(numbers).intersection(pk for (pk,) in _DRAFTS.rows())) if numbers else 0


def are_there_drafts() -> bool:
    """Whether any mail waits to be read."""
    return bool(_A_DRAFT.rows())


def _drafts() -> QuerySet[Message, Any]:
    return Message.objects.filter(state=State.DRAFT).order_by().values_list("pk")


_DRAFTS, _A_DRAFT = KnownQuery(_drafts), KnownQuery(lambda: _drafts()[:1])


def _found(mails: QuerySet[Message], q: str) -> QuerySet[Message]:
    """Mails by the kit, student or run of their loan; those of no loan, which are few, by their
    subject or by whom they go to.
    """
    fits = Q(subject__icontains=q) | Q(to_name__icontains=q) | Q(to_address__icontains=q)
    of_none = Message.objects.filter(fits, loan__isnull=True)
    if not of_none.exists():
        # An index holds the mails of a loan in order; a union would sort all of them by number.
        return mails.filter(loan__in=loans_numbers(q))
    of_loans = Message.objects.filter(loan__in=loans_numbers(q))
    return mails.filter(pk__in=together(of_loans, of_none))


@dataclass(frozen=True)
class MailRow:
    """One mail of a list; a draft can be ticked."""

    mail: Message
    draft: bool
    next: Button


#: What the list tells of a mail, and all that it reads.
_OF_A_ROW = (
    *("subject", "state", "to_name", "to_address"),
    *("drafted_at", "written_to", "last_error"),
)
#: Mails by their numbers for `mail_row` and the lines of the list.
mails_of_rows = KnownRows(lambda: Message.objects.only(*_OF_A_ROW).order_by()).of


def mail_row(mail: Message) -> MailRow:
    """The row of a mail."""
    return MailRow(mail, mail.state == State.DRAFT, message_button(mail))


@dataclass(frozen=True)
class MailPage:
    """What can be done with a mail on its own page, and what stands against it in words.

    `approve` is the word of the button that sends a draft; `next` any other act that comes first.
    """

    sentence: str
    approve: str
    next: Button | None
    draft: bool
    uncertain: bool
    may_change: bool
    may_resend: bool
    may_end: bool


def mail_page(mail: Message, *, fault: str) -> MailPage:
    """All of that for one mail; `fault` says why its address cannot be written to."""
    state = MessageState(mail.state)
    way = message_act(state, address_fault=bool(fault), held=bool(mail.last_error)).here
    approves = way is not None and way.route == APPROVE_MAIL
    return MailPage(
        sentence=message_sentence(state, mail.last_error),
        approve=way.act if way and approves else "",
        next=button(way, message=mail) if way and not approves else None,
        draft=state is State.DRAFT,
        uncertain=state is State.UNCERTAIN,
        may_change=may_change(state),
        may_resend=state is State.SENT,
        may_end=may_end_by_hand(state),
    )


def runs_offered() -> list[tuple[str, str]]:
    """The newest runs, by key and name, to choose from."""
    return [(str(pk), name) for pk, name in _RUNS.rows()]


_RUNS = KnownQuery(lambda: CourseRun.objects.values_list("pk", "name")[:RUNS_OFFERED])


@dataclass(frozen=True)
class BatchProgress:
    """How far the mails of a batch are: each counts once it has left, failed, or waits for its next
    try. Those `written` to files, for want of a mail server, have reached nobody.
    """

    total: int
    sent: int
    written: int
    waiting: int
    failed: int
    uncertain: int

    @property
    def done(self) -> int:
        return self.sent + self.written + self.waiting + self.failed + self.uncertain


def batch_progress(batch: MessageBatch) -> BatchProgress:
    """Counted in one query."""
    waits = Q(state__in=[State.QUEUED, State.APPROVED], next_try_at__isnull=False)
    counts = batch.messages.aggregate(
        total=Count("pk"),
        sent=Count("pk", filter=Q(state=State.SENT, written_to="")),
        written=Count("pk", filter=Q(state=State.SENT) & ~Q(written_to="")),
        waiting=Count("pk", filter=waits),
        failed=Count("pk", filter=Q(state__in=[State.FAILED, State.DISCARDED, State.DRAFT])),
        uncertain=Count("pk", filter=Q(state=State.UNCERTAIN)),
    )
    return BatchProgress(**counts)


def batch_troubles(batch: MessageBatch) -> QuerySet[Message]:
    """The mails of a batch that did not simply go: failed, uncertain, waiting."""
    waits = Q(state__in=[State.QUEUED, State.APPROVED], next_try_at__isnull=False)
    return (
        batch.messages.filter(
            waits | Q(state__in=[State.FAILED, State.UNCERTAIN, State.DISCARDED, State.DRAFT])
        )
        .defer("body_text", "body_html")
        .order_by("pk")
    )
