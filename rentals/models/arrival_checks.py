"""What a student found when the parcel arrived, line by line."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from rentals.marks import Mark, mark_of
from rentals.states import ArrivalOutcome


class ArrivalCheck(models.Model):
    """What the student of a loan said of the parcel's contents, and what was done about it."""

    loan = models.OneToOneField(
        "rentals.Loan", on_delete=models.CASCADE, related_name="arrival_check"
    )
    sent_at = models.DateTimeField(help_text="When it was sent the last time.")
    times_sent = models.PositiveSmallIntegerField(default=1)
    note = models.CharField(max_length=600, blank=True)
    answered_at = models.DateTimeField(
        null=True, blank=True, help_text="When the desk had seen to what lacked."
    )
    answer = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"Arrival check of loan {self.loan_id}"


class ArrivalLine(models.Model):
    """How many pieces of one packing line were missing or damaged on arrival. Missing pieces are
    never charged: see `rentals/planning/arrival.py` and `rentals/arrival_guard.py`.
    """

    check_of = models.ForeignKey(ArrivalCheck, on_delete=models.CASCADE, related_name="lines")
    packing_line = models.OneToOneField(
        "rentals.PackingLine", on_delete=models.CASCADE, related_name="arrival_line"
    )
    missing = models.PositiveSmallIntegerField(default=0)
    damaged = models.PositiveSmallIntegerField(default=0)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["packing_line__order", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(missing=0) | Q(damaged=0),
                name="arrival_line_missing_or_damaged",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packing_line.name}: {self.outcome.label}"

    @property
    def outcome(self) -> ArrivalOutcome:
        """The worse of what was said of it."""
        if self.missing:
            return ArrivalOutcome.MISSING
        return ArrivalOutcome.DAMAGED if self.damaged else ArrivalOutcome.HERE

    @property
    def pieces_lacking(self) -> int:
        """How many of its pieces were missing or damaged."""
        return self.missing + self.damaged

    @property
    def mark(self) -> Mark:
        """How that is shown."""
        return mark_of(self.outcome)
