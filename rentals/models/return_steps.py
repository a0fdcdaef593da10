"""What is done with a kit after each return, beyond looking at its lines: cleaning, charging and
throwing away, in the owner's own words.
"""

from __future__ import annotations

from django.db import models

from rentals.states import StepKind

from .kit_types import KitType, PartKind
from .loans import Loan


class StepFacts(models.Model):
    """What one step says; without a part kind it is for the kit as a whole."""

    Kind = StepKind

    order = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(max_length=8, choices=StepKind.choices, default=StepKind.CLEAN)
    words = models.CharField(max_length=200, help_text="What to do, in one sentence.")
    part_kind = models.CharField(
        max_length=20,
        choices=PartKind.choices,
        blank=True,
        help_text="Asked only where a part of this kind went out and is not missing.",
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.words


class ReturnStep(StepFacts):
    """A step that a kit type asks for after each return."""

    kit_type = models.ForeignKey(KitType, on_delete=models.CASCADE, related_name="return_steps")

    class Meta:
        ordering = ["kit_type", "order", "pk"]


class LoanStep(StepFacts):
    """A step as it was asked for on the day a loan was packed; ticked while its return is
    checked.
    """

    loan = models.ForeignKey(Loan, on_delete=models.CASCADE, related_name="return_steps")
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["loan", "order", "pk"]
