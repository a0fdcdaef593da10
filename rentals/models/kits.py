"""Kits: a label code, a type, the parts fitted now, and where it stands in the loop."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from rentals.addresses import page_address
from rentals.marks import Mark, mark_of
from rentals.noted import NotedManager
from rentals.states import KitState

from .kit_types import KitType


class Kit(models.Model):
    """One rentable kit. `state` and `cleared` follow from its events; only actions write them."""

    code = models.CharField(max_length=12, unique=True)
    kit_type = models.ForeignKey(KitType, on_delete=models.PROTECT, related_name="kits")
    state = models.CharField(max_length=10, choices=KitState.choices, default=KitState.BENCH)
    held_from = models.CharField(max_length=10, choices=KitState.choices, blank=True)
    hold_reason = models.CharField(max_length=300, blank=True)
    cleared = models.BooleanField(default=False)
    cleared_at = models.DateTimeField(null=True, blank=True)
    not_cleared_reason = models.CharField(
        max_length=500,
        blank=True,
        help_text="What the bench said when it refused the kit, in words.",
    )
    override_reason = models.CharField(max_length=500, blank=True)
    partly_back = models.BooleanField(
        default=False, help_text="A part of it has come back, the rest is still away."
    )
    returned_at = models.DateTimeField(
        null=True, blank=True, help_text="Last return; tests before it do not count."
    )
    score_continuity = models.FloatField(
        null=True, blank=True, help_text="Last bench scores, 0 to 100."
    )
    score_noise = models.FloatField(null=True, blank=True)
    score_battery = models.FloatField(null=True, blank=True)
    scored_at = models.DateTimeField(null=True, blank=True)
    note = models.TextField(blank=True)
    event_count = models.PositiveIntegerField(default=0)
    last_hash = models.CharField(max_length=64, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state__in=[KitState.PACKED, KitState.AWAY])
                | Q(cleared=True)
                | ~Q(override_reason="")
                | Q(partly_back=True),
                name="kit_issued_only_when_cleared_or_overridden",
            ),
            models.CheckConstraint(
                condition=~Q(state=KitState.CHECK, cleared=True),
                name="kit_just_back_is_not_cleared",
            ),
            models.CheckConstraint(
                condition=Q(partly_back=False) | Q(state=KitState.AWAY, cleared=False),
                name="kit_partly_back_is_away_and_not_cleared",
            ),
            models.CheckConstraint(
                condition=Q(state=KitState.HELD, held_from__gt="")
                | (~Q(state=KitState.HELD) & Q(held_from="")),
                name="kit_held_knows_where_it_returns_to",
            ),
            models.CheckConstraint(
                condition=~Q(state=KitState.HELD) | ~Q(hold_reason=""),
                name="kit_held_only_with_a_reason",
            ),
        ]
        indexes = [
            models.Index(fields=["state", "code"]),
            models.Index(fields=["code"], condition=~Q(note=""), name="kit_with_a_note"),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return page_address("rentals:kit", self.code)

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(KitState(self.state))
