"""Webhooks: programs elsewhere that are told what happens, and each call to them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from rentals.addresses import page_address
from rentals.marks import Mark, mark_of
from rentals.states import OVER_CALLS, CallState

from .leases import Leased


class StandingWebhooks(models.Manager["Webhook"]):
    """Those that nobody has removed."""

    def get_queryset(self) -> models.QuerySet[Webhook]:
        """All but the removed ones."""
        return super().get_queryset().filter(removed_at=None)


class Webhook(models.Model):
    """An address that is told of some topics. Its secret is in no table: it is worked out from the
    `nonce` with the desk's key. Paused, what happens is kept for it. Removed, its row stays for a
    day, so that an act that is just writing a call finds it.
    """

    address = models.CharField(max_length=500)
    topics = models.JSONField(default=list)
    nonce = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    paused_at = models.DateTimeField(null=True, blank=True)
    paused_why = models.CharField(
        max_length=200, blank=True, help_text="Why it paused by itself; empty where a person did."
    )
    answered_at = models.DateTimeField(
        null=True, blank=True, help_text="When it has last taken a call."
    )
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = models.Manager()
    standing = StandingWebhooks()

    class Meta:
        ordering: ClassVar = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return self.address

    def get_absolute_url(self) -> str:
        return page_address("rentals:webhook", self.pk)


class WebhookCall(Leased):
    """One thing that a webhook is told, from the act that caused it to the receiver's answer."""

    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="calls")
    call_id = models.CharField(max_length=40, unique=True, help_text="The same at each try.")
    topic = models.CharField(max_length=30)
    body = models.TextField()
    made_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=CallState.choices, default=CallState.WAITING)
    next_try_at = models.DateTimeField(null=True, blank=True)
    last_status = models.PositiveSmallIntegerField(null=True, blank=True)
    last_words = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [models.Index(fields=["state", "next_try_at"])]

    def __str__(self) -> str:
        return f"{self.topic} {self.call_id}"

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(CallState(self.state))

    @property
    def is_over(self) -> bool:
        """Whether nothing more is tried by itself."""
        return self.state in OVER_CALLS
