"""Events: what happened to a kit, part, stock item or loan; append-only, chained by hash."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from rentals.lifecycle import Verb
from rentals.noted import NotedManager


class Event(models.Model):
    """One change. `hash` covers the event and the hash before it in the same chain, so an edit or a
    gap shows. Of its words it covers the `words_hash`, which is salted: without the salt nobody can
    try out whose name stood there. Words lose their salt when their person is erased.
    """

    chain = models.CharField(
        max_length=40, help_text="What the chain belongs to: a kit code, a part code, a stock item."
    )
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    verb = models.CharField(max_length=12, choices=Verb.choices)
    text = models.CharField(max_length=600)
    words_salt = models.CharField(
        max_length=32, blank=True, help_text="Empty once its words were erased."
    )
    words_hash = models.CharField(
        max_length=64, help_text="SHA-256 of the salt and the words as they were written."
    )
    data = models.JSONField(default=dict)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    actor_name = models.CharField(max_length=150, blank=True)
    kit = models.ForeignKey(
        "rentals.Kit", on_delete=models.PROTECT, null=True, blank=True, related_name="events"
    )
    loan = models.ForeignKey(
        "rentals.Loan", on_delete=models.PROTECT, null=True, blank=True, related_name="events"
    )
    part = models.ForeignKey(
        "rentals.Part", on_delete=models.PROTECT, null=True, blank=True, related_name="events"
    )
    previous_hash = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    objects = NotedManager()

    class Meta:
        ordering = ["chain", "number"]
        constraints = [
            models.UniqueConstraint(fields=["chain", "number"], name="event_number_once_per_chain")
        ]
        indexes = [
            models.Index(fields=["-at"]),
            models.Index(fields=["loan", "at"]),
            models.Index(fields=["kit", "at"]),
            models.Index(fields=["kit", "-number"]),
            models.Index(
                fields=["kit", "at"], condition=Q(verb=Verb.FITTED), name="kit_was_fitted"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.chain} {self.number}: {self.text}"
