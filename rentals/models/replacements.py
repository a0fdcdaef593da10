"""A part that is sent to a student in place of a faulty one, while the kit stays with them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from rentals.addresses import page_address
from rentals.counts import pieces

from .loans import Loan, PackingLine
from .parts import Part
from .stock import StockItem


class Replacement(models.Model):
    """What goes out in place of one line of a loan, and what becomes of the faulty line: it is due
    by itself on `back_by`, or comes with the kit where no day is given.
    """

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="replacements")
    faulty = models.ForeignKey(PackingLine, on_delete=models.PROTECT, related_name="replacements")
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="replacements"
    )
    stock_item = models.ForeignKey(
        StockItem, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    quantity = models.PositiveSmallIntegerField(default=1)
    why = models.CharField(max_length=300)
    back_by = models.DateField(null=True, blank=True)
    asked_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    carrier = models.CharField(max_length=60, blank=True)
    tracking_number = models.CharField(max_length=60, blank=True)
    faulty_back_at = models.DateTimeField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["faulty"],
                condition=Q(cancelled_at__isnull=True),
                name="packing_line_replaced_once",
            ),
            models.UniqueConstraint(
                fields=["part"],
                condition=Q(sent_at__isnull=True, cancelled_at__isnull=True),
                name="spare_promised_once",
            ),
            models.CheckConstraint(
                condition=Q(part__isnull=False, stock_item__isnull=True, quantity=1)
                | Q(part__isnull=True, stock_item__isnull=False, quantity__gte=1),
                name="replacement_is_a_part_or_counted",
            ),
            models.CheckConstraint(
                condition=Q(cancelled_at__isnull=True)
                | Q(sent_at__isnull=True, faulty_back_at__isnull=True),
                name="replacement_cancelled_only_before_it_is_sent",
            ),
            models.CheckConstraint(condition=~Q(why=""), name="replacement_says_why"),
        ]

    def __str__(self) -> str:
        return pieces(self.quantity, self.faulty.name)

    def get_absolute_url(self) -> str:
        return page_address("rentals:loan", self.loan_id)
