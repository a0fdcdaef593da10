"""Sheets of labels that a practice has measured itself."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from rentals.addresses import page_address


class LabelSheet(models.Model):
    """One page of labels by its dimensions in millimetres; the built-in ones stand in
    `rentals.paper.sheets`.

    `pitch` runs from one label's left (top) edge to the next one's, `margin` to the first label,
    and `nudge` moves all labels right and down for a printer that is off.
    """

    name = models.CharField(max_length=80, unique=True)
    page_width = models.DecimalField(max_digits=7, decimal_places=3, default=210)
    page_height = models.DecimalField(max_digits=7, decimal_places=3, default=297)
    columns = models.PositiveSmallIntegerField(default=3)
    rows = models.PositiveSmallIntegerField(default=7)
    label_width = models.DecimalField(max_digits=7, decimal_places=3)
    label_height = models.DecimalField(max_digits=7, decimal_places=3)
    pitch_across = models.DecimalField(max_digits=7, decimal_places=3)
    pitch_down = models.DecimalField(max_digits=7, decimal_places=3)
    margin_left = models.DecimalField(max_digits=7, decimal_places=3)
    margin_top = models.DecimalField(max_digits=7, decimal_places=3)
    nudge_right = models.DecimalField(max_digits=5, decimal_places=2, default=0)
    nudge_down = models.DecimalField(max_digits=5, decimal_places=2, default=0)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(columns__gte=1, rows__gte=1),
                name="label_sheet_has_labels",
                violation_error_message="A sheet has at least one row and one column of labels.",
            ),
            models.CheckConstraint(
                condition=Q(
                    page_width__gt=0, page_height__gt=0, label_width__gt=0, label_height__gt=0
                ),
                name="label_sheet_has_a_size",
                violation_error_message="Page and label must have a size.",
            ),
            models.CheckConstraint(
                condition=Q(margin_left__gte=0, margin_top__gte=0),
                name="label_sheet_margins_not_negative",
                violation_error_message="Margins cannot be negative.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("rentals:sheet", self.pk)
