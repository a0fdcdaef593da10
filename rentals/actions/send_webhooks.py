"""Calling webhooks. An act has written a row for each call in its own transaction, so none is lost
and none is of an act that did not happen; here they leave one by one.

A call is claimed by a lease before the receiver hears of it. A worker that dies in between leaves a
claim behind, and the call is made again: at least once, under the same id. Calls to one receiver
begin in the order of their acts, but one that is tried again comes after those behind it.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import Q, QuerySet
from django.utils import timezone
from django_tasks import task

from rentals import transaction
from rentals.models import Webhook, WebhookCall
from rentals.post.webhook import KEPT_WHILE_PAUSED, headers_of, wait_after
from rentals.post.webhook_line import CallAnswer, call
from rentals.selectors.webhooks import secret_of
from rentals.states import CallState
from rentals.through_locks import through_locks

from .leases import Lease

LEASE = Lease(WebhookCall, "state", CallState.SENDING, duration=timedelta(minutes=5), tries=1)
#: Seconds to wait for a database that something else holds.
LONGEST_WAIT_S = 600
#: A receiver that does not answer at all is left alone for so long.
SILENT_WAIT = timedelta(minutes=1)
GONE = 410
TAKEN_KEPT, GIVEN_UP_KEPT = timedelta(days=30), timedelta(days=90)
#: No act takes so long.
REMOVED_KEPT = timedelta(days=1)


@task()
def call_webhooks() -> int:
    """Make every call that is due."""
    return through_locks(make_due_calls, longest_s=LONGEST_WAIT_S)


def call_soon() -> None:
    """Have due calls made once the surrounding transaction has committed. Should this process die
    in between, the minute's tick makes them just as well.
    """
    transaction.on_commit(call_webhooks.enqueue)


def make_due_calls(now: datetime | None = None) -> int:
    """Make them, oldest first; how many were taken. Safe to call from many processes at once."""
    now, taken = now or timezone.now(), 0
    LEASE.expired(now).update(state=CallState.WAITING, next_try_at=now)
    silent: set[int] = set()
    while (due := _next_due(now, silent)) is not None:
        free = WebhookCall.objects.filter(pk=due.pk, state=CallState.WAITING)
        if not LEASE.claim(free, timezone.now()):
            continue
        due.refresh_from_db()
        answer = _made(due)
        _settle(due, answer)
        taken += answer.is_taken
        if answer.status is None:
            silent.add(due.webhook_id)
    return taken


def forget_old_calls(now: datetime | None = None) -> None:
    """Delete calls that nobody will ask for any more, and webhooks that were removed; leave out
    what a paused one would be told too late.
    """
    now = now or timezone.now()
    leave_out_old(WebhookCall.objects.exclude(webhook__paused_at=None), now)
    Webhook.objects.filter(removed_at__lt=now - REMOVED_KEPT).delete()
    taken = Q(state=CallState.TAKEN, made_at__lt=now - TAKEN_KEPT)
    given_up = Q(state=CallState.GIVEN_UP, made_at__lt=now - GIVEN_UP_KEPT)
    WebhookCall.objects.filter(taken | given_up).delete()


def leave_out_old(calls: QuerySet[WebhookCall], now: datetime) -> int:
    """Give up those of a paused webhook that have waited for too long; how many."""
    too_old = calls.filter(state=CallState.WAITING, made_at__lt=now - KEPT_WHILE_PAUSED)
    return too_old.update(
        state=CallState.GIVEN_UP,
        next_try_at=None,
        last_words="Left out: the webhook was paused for more than three days.",
    )


def _next_due(now: datetime, silent: set[int]) -> WebhookCall | None:
    waiting = WebhookCall.objects.filter(
        state=CallState.WAITING, webhook__paused_at=None, webhook__removed_at=None
    )
    due = waiting.filter(Q(next_try_at=None) | Q(next_try_at__lte=now))
    return due.exclude(webhook__in=silent).select_related("webhook").order_by("pk").first()


def _made(due: WebhookCall) -> CallAnswer:
    secret = secret_of(due.webhook)
    headers = headers_of(secret, due.call_id, due.body, timezone.now())
    private = settings.KITDESK_HOOKS_PRIVATE
    return call(due.webhook.address, due.body, headers, private=private)


@transaction.atomic
def _settle(due: WebhookCall, answer: CallAnswer) -> None:
    """Write down what became of a claimed call, and what follows for its receiver."""
    now = timezone.now()
    own = LEASE.under_claim_of(due)
    told = {"last_status": answer.status, "last_words": answer.words}
    hook = Webhook.objects.filter(pk=due.webhook_id)
    if answer.is_taken:
        own.update(state=CallState.TAKEN, next_try_at=None, **told)
        hook.update(answered_at=now)
        return
    wait = wait_after(due.attempts)
    if wait is None or answer.status == GONE:
        own.update(state=CallState.GIVEN_UP, next_try_at=None, **told)
        _pause_where_dead(due, answer, now)
        return
    own.update(state=CallState.WAITING, next_try_at=now + wait, **told)
    if answer.status is None:
        _leave_alone(due, now)
    _call_again_at(now + wait)


def _pause_where_dead(due: WebhookCall, answer: CallAnswer, now: datetime) -> None:
    """A receiver that is gone, or has taken nothing since the act, is told nothing more."""
    if answer.status == GONE:
        why = "Its receiver says that it is gone (410)."
    else:
        why = "It has taken no call for three days."
    dead = Webhook.objects.filter(pk=due.webhook_id, paused_at=None)
    if answer.status != GONE:
        dead = dead.filter(Q(answered_at=None) | Q(answered_at__lt=due.made_at))
    dead.update(paused_at=now, paused_why=why)


def _leave_alone(due: WebhookCall, now: datetime) -> None:
    others = WebhookCall.objects.filter(webhook=due.webhook_id, state=CallState.WAITING)
    soon = Q(next_try_at=None) | Q(next_try_at__lt=now + SILENT_WAIT)
    others.exclude(pk=due.pk).filter(soon).update(next_try_at=now + SILENT_WAIT)


def _call_again_at(moment: datetime) -> None:
    """A try that is due before the minute's tick is asked for, where the queue can wait."""
    if moment < timezone.now() + SILENT_WAIT and call_webhooks.get_backend().supports_defer:
        transaction.on_commit(lambda: call_webhooks.using(run_after=moment).enqueue())
