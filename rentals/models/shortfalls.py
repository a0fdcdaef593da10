"""Shortfalls: parts missing or damaged at return, chased until recovered, charged or waived."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import Q

from rentals.addresses import page_address
from rentals.marks import Mark, mark_of
from rentals.noted import NotedManager
from rentals.states import UNSETTLED_STATES, ShortfallKind, ShortfallState

from .loans import Loan, PackingLine


class Shortfall(models.Model):
    """What lacks of one packing line, and the money it stands for."""

    Kind = ShortfallKind
    State = ShortfallState

    UNSETTLED = UNSETTLED_STATES

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="shortfalls")
    packing_line = models.OneToOneField(
        PackingLine, on_delete=models.PROTECT, related_name="shortfall"
    )
    kind = models.CharField(max_length=8, choices=Kind.choices)
    quantity = models.PositiveSmallIntegerField(default=1)
    detail = models.CharField(max_length=200, blank=True)
    amount = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(0))
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    reason = models.CharField(max_length=300, blank=True, help_text="Why charged or waived.")
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["opened_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=1), name="shortfall_quantity_at_least_one"
            ),
            models.CheckConstraint(
                condition=Q(amount__gte=0), name="shortfall_amount_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(state__in=UNSETTLED_STATES, closed_at__isnull=True)
                | (~Q(state__in=UNSETTLED_STATES) & Q(closed_at__isnull=False)),
                name="shortfall_closed_exactly_when_ended",
            ),
            models.CheckConstraint(
                condition=~Q(state=ShortfallState.WAIVED) | ~Q(reason=""),
                name="shortfall_waived_only_with_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["state", "opened_at"])]

    def __str__(self) -> str:
        return f"{self.packing_line.name} {self.get_kind_display()}"

    def get_absolute_url(self) -> str:
        return page_address("rentals:loan", self.loan_id)

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(ShortfallState(self.state))
