"""Errands: work that takes too long for a page, done in the background by a worker."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse

from rentals.marks import Mark, mark_of
from rentals.states import OPEN_ERRANDS, ErrandState

from .leases import Leased


class ErrandKind(models.TextChoices):
    """What is done in the background."""

    RUN_PAPERS = "run_papers", "papers of a run"
    VERIFY = "verify", "a check of the log"


_WHEN_CANCELLED = {
    ErrandKind.RUN_PAPERS: "No file was kept.",
    ErrandKind.VERIFY: "Of what was checked by then nothing is noted.",
}


class Errand(Leased):
    """One piece of long work: what it is, how far it has come, and what came of it.

    `about` is the page that it was asked for on. Its result is for those who may open the page
    `seen_by`. `named` are sentences that name what was found.
    """

    kind = models.CharField(max_length=12, choices=ErrandKind.choices)
    title = models.CharField(max_length=200)
    facts = models.JSONField(default=dict, help_text="What it is to be done with.")
    about = models.CharField(max_length=200)
    seen_by = models.CharField(max_length=200)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField()
    began_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=9, choices=ErrandState.choices, default=ErrandState.WAITING)
    stopping = models.BooleanField(default=False, help_text="Somebody has cancelled it.")
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    at_hand = models.CharField(max_length=100, blank=True, help_text="What is being counted.")
    problem = models.CharField(max_length=500, blank=True)
    said = models.CharField(max_length=500, blank=True, help_text="What came of it, in words.")
    named = models.JSONField(default=list)
    goes_to = models.CharField(max_length=200, blank=True, help_text="The page to see it on.")
    file_name = models.CharField(max_length=120, blank=True)
    content_type = models.CharField(max_length=100, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [
            models.Index(fields=["asked_by", "-id"]),
            models.Index(fields=["about", "-id"]),
            models.Index(fields=["state"]),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("rentals:errand", args=[self.pk])

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(ErrandState(self.state))

    @property
    def when_cancelled(self) -> str:
        """What is kept of one that was cancelled; empty for all others."""
        if self.state != ErrandState.CANCELLED:
            return ""
        return f"It was cancelled. {_WHEN_CANCELLED[ErrandKind(self.kind)]}"

    @property
    def is_open(self) -> bool:
        """Whether it has not come to its end."""
        return self.state in OPEN_ERRANDS


class ErrandPiece(models.Model):
    """A piece of the file that an errand has made: in pieces, so that none is ever whole in
    memory, and in the database, so that it is there for every machine and goes with its row.
    """

    errand = models.ForeignKey(Errand, on_delete=models.CASCADE, related_name="pieces")
    number = models.PositiveIntegerField()
    content = models.BinaryField()

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["errand", "number"], name="one_piece_of_each_number")
        ]

    def __str__(self) -> str:
        return f"piece {self.number} of errand {self.errand_id}"
