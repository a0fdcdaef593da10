"""Things in a parcel that were not on its list, until each is put where it belongs."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from rentals.marks import Mark, mark_of
from rentals.states import UNENDED_FINDS, FoundState

from .loans import ReturnCheck
from .parts import Part


class FoundPart(models.Model):
    """Something in the parcel that was not on its list: a part of another kit, or a thing nobody
    knows. It is a task until it is moved to its kit or kept aside.
    """

    State = FoundState

    check_of = models.ForeignKey(ReturnCheck, on_delete=models.CASCADE, related_name="found")
    text = models.CharField(max_length=200)
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="finds"
    )
    belongs_to = models.CharField(
        max_length=120, blank=True, help_text="Kit or place it belongs to, in words."
    )
    at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=FoundState.choices, default=FoundState.OPEN)
    lies = models.CharField(max_length=120, blank=True, help_text="Where it lies, in words.")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["part"],
                condition=Q(state__in=UNENDED_FINDS),
                name="found_part_is_one_task",
            ),
            models.CheckConstraint(
                condition=Q(state__in=UNENDED_FINDS, ended_at__isnull=True)
                | (~Q(state__in=UNENDED_FINDS) & Q(ended_at__isnull=False)),
                name="found_part_ended_exactly_when_put_away",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[FoundState.WAITING, FoundState.ASIDE]) | ~Q(lies=""),
                name="found_part_aside_only_with_its_place",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[FoundState.WAITING, FoundState.MOVED])
                | Q(part__isnull=False),
                name="found_part_of_a_kit_only_if_known",
            ),
        ]
        indexes = [models.Index(fields=["state"])]

    def __str__(self) -> str:
        return self.text

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(FoundState(self.state))
