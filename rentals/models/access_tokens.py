"""Access tokens: how another program comes in, in its own name."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.conf import settings
from django.db import models

from rentals.noted import NotedManager


class AccessToken(models.Model):
    """One token. Its secret is in no table, only the SHA-256 of it. What it does stands in events
    under the name of its `account`, with which nobody can sign in.
    """

    name = models.CharField(max_length=60, unique=True)
    account = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="access_token"
    )
    scopes = models.JSONField(default=list)
    token_sha256 = models.CharField(max_length=64, unique=True)
    expires_on = models.DateField(
        null=True, blank=True, help_text="The last day on which it opens anything."
    )
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    last_used_at = models.DateTimeField(
        null=True, blank=True, help_text="Noted once in ten minutes at most."
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"Access token {self.name}"

    @property
    def facts(self) -> dict[str, Any]:
        """What its events say of it."""
        return {
            "token": self.pk,
            "scopes": list(self.scopes),
            "expires_on": self.expires_on.isoformat() if self.expires_on else "",
            "revoked": self.revoked_at is not None,
        }

    def has_expired(self, today: date) -> bool:
        """Whether its last day is over."""
        return self.expires_on is not None and self.expires_on < today
