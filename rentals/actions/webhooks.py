"""Webhooks: made, tried, paused, resumed, removed; a call that is made again. The owner's acts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlsplit

from django.conf import settings
from django.utils import timezone

from rentals import transaction
from rentals.counts import counted
from rentals.errors import Refused
from rentals.models import Webhook, WebhookCall
from rentals.post.webhook import TOPICS, fault_of_address, secret_words
from rentals.selectors.webhooks import secret_of
from rentals.states import CallState
from rentals.student_tokens import new_nonce

from .record import Actor, record_webhook
from .send_webhooks import call_soon, leave_out_old
from .tell_webhooks import tell_trial


@dataclass(frozen=True)
class KeptMeanwhile:
    """What happened while a webhook was paused: told now, and left out as too old."""

    told: int
    left_out: int

    @property
    def words(self) -> str:
        """A sentence or two for the owner."""
        told = f"What was kept is told now: {counted(self.told, 'call', 'calls')}."
        if not self.left_out:
            return told
        left_out = counted(self.left_out, "call", "calls")
        return f"{told} Left out as older than three days: {left_out}."


@transaction.atomic
def make_webhook(
    address: str, topics: Iterable[str], *, actor: Actor = None, at: datetime | None = None
) -> str:
    """A program elsewhere that is told from now on. Returns its secret, which is shown this once.

    Raises
    ------
    Refused
        If the address cannot be called, or no topic is chosen.
    """
    address, wanted = address.strip(), set(topics)
    chosen = [topic for topic in TOPICS if topic in wanted]
    fault = fault_of_address(address, may_be_plain=bool(settings.KITDESK_HOOKS_PRIVATE))
    if fault:
        raise Refused(fault, field="address")
    if not chosen:
        raise Refused("Choose at least one thing to tell.", field="topics")
    hook = Webhook.objects.create(
        address=address,
        topics=chosen,
        nonce=new_nonce(),
        made_at=at or timezone.now(),
        made_by=actor,
    )
    text = f"Webhook to {host_of(hook)} made. It is told of: {', '.join(chosen)}."
    record_webhook(hook, text, actor=actor, at=at)
    return secret_words(secret_of(hook))


@transaction.atomic
def pause_webhook(hook: Webhook, *, actor: Actor = None, at: datetime | None = None) -> Webhook:
    """It is told of nothing from now on; what happens is kept for it for three days. Safe to
    repeat.
    """
    hook = _locked(hook)
    if hook.paused_at is not None and not hook.paused_why:
        return hook
    hook.paused_at, hook.paused_why = at or timezone.now(), ""
    hook.save(update_fields=["paused_at", "paused_why"])
    record_webhook(hook, f"Webhook to {host_of(hook)} paused.", actor=actor, at=at)
    return hook


@transaction.atomic
def resume_webhook(
    hook: Webhook, *, actor: Actor = None, at: datetime | None = None
) -> KeptMeanwhile:
    """It is told again, of what happens from now on and of what was kept. Safe to repeat."""
    hook, now = _locked(hook), at or timezone.now()
    if hook.paused_at is None:
        return KeptMeanwhile(0, 0)
    hook.paused_at, hook.paused_why = None, ""
    hook.save(update_fields=["paused_at", "paused_why"])
    left_out = leave_out_old(hook.calls.all(), now)
    waiting = hook.calls.filter(state=CallState.WAITING)
    meanwhile = KeptMeanwhile(waiting.update(next_try_at=None, attempts=0), left_out)
    text = f"Webhook to {host_of(hook)} goes on. {meanwhile.words}"
    record_webhook(hook, text, actor=actor, at=at)
    call_soon()
    return meanwhile


@transaction.atomic
def try_webhook(hook: Webhook, *, actor: Actor = None, at: datetime | None = None) -> None:
    """Make a trial call, which tells of nothing.

    Raises
    ------
    Refused
        If the webhook is paused.
    """
    hook = _locked(hook)
    if hook.paused_at is not None:
        raise Refused("This webhook is paused: let it go on first.")
    tell_trial(hook, at=at or timezone.now())
    record_webhook(hook, f"Trial call to {host_of(hook)} asked for.", actor=actor, at=at)


@transaction.atomic
def remove_webhook(hook: Webhook, *, actor: Actor = None, at: datetime | None = None) -> None:
    """It is told of nothing more, and its secret signs nothing more. Safe to repeat."""
    hook = Webhook.objects.select_for_update().get(pk=hook.pk)
    if hook.removed_at is not None:
        return
    hook.removed_at = at or timezone.now()
    hook.save(update_fields=["removed_at"])
    record_webhook(hook, f"Webhook to {host_of(hook)} removed.", actor=actor, at=at)


def _locked(hook: Webhook) -> Webhook:
    """The webhook as it stands. Raises Refused where it was removed."""
    locked = Webhook.standing.select_for_update().filter(pk=hook.pk).first()
    if locked is None:
        raise Refused("This webhook was removed.")
    return locked


@transaction.atomic
def call_again(made: WebhookCall, *, actor: Actor = None, at: datetime | None = None) -> None:
    """Make a call again that was taken or given up, under the same id, with all its tries.

    Raises
    ------
    Refused
        If its webhook is paused or was removed.
    """
    made = WebhookCall.objects.select_for_update(of=("self",)).get(pk=made.pk)
    if made.webhook.removed_at is not None:
        raise Refused("This webhook was removed.")
    if made.webhook.paused_at is not None:
        raise Refused("This webhook is paused: let it go on first.")
    if not made.is_over:
        return
    made.state, made.attempts, made.next_try_at = CallState.WAITING, 0, None
    made.save(update_fields=["state", "attempts", "next_try_at"])
    text = f"To be told again to {host_of(made.webhook)}: {made.call_id}."
    record_webhook(made.webhook, text, actor=actor, at=at)
    call_soon()


def host_of(hook: Webhook) -> str:
    """The machine that is called: the rest of the address may be a secret."""
    return urlsplit(hook.address).hostname or "?"
