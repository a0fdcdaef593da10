"""Counted stock: electrodes by batch and expiry, swabs, bands, packaging."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from rentals.addresses import page_address
from rentals.noted import NotedManager

from .kit_types import SERIAL_KINDS, PartKind

COUNTED_KINDS = [(k.value, k.label) for k in PartKind if k not in SERIAL_KINDS]
PACKAGING_KINDS = (PartKind.BOX, PartKind.POUCH, PartKind.SMALL_BAG)


class StockItem(models.Model):
    """Something counted. Items kept by batch hold their pieces in batches, all others here."""

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=20, choices=COUNTED_KINDS)
    by_batch = models.BooleanField(default=False, help_text="Kept in batches with an expiry date.")
    on_hand = models.IntegerField(default=0)
    reorder_point = models.PositiveIntegerField(default=0)
    shelf = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=20, default="pieces")
    supplier = models.CharField(max_length=120, blank=True)
    lead_days = models.PositiveSmallIntegerField(
        default=7, help_text="Days from ordering until it is here."
    )
    lead_spread_days = models.PositiveSmallIntegerField(
        default=2, help_text="By how many days orders usually differ from that."
    )
    pack_size = models.PositiveIntegerField(default=1, help_text="Pieces in a pack as it is sold.")
    pack_price = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    order_cost = models.DecimalField(
        max_digits=9,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="Postage and work of one order, whatever its size.",
    )

    objects = NotedManager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(pack_size__gte=1),
                name="stock_pack_holds_a_piece",
                violation_error_message="A pack holds at least one piece.",
            ),
            models.CheckConstraint(
                condition=Q(lead_days__lte=365, lead_spread_days__lte=365),
                name="stock_lead_within_a_year",
                violation_error_message="Give a number of days from 0 to 365.",
            ),
            models.CheckConstraint(
                condition=(Q(pack_price__isnull=True) | Q(pack_price__gte=0))
                & (Q(order_cost__isnull=True) | Q(order_cost__gte=0)),
                name="stock_prices_not_negative",
                violation_error_message="A price is 0 or more.",
            ),
            models.CheckConstraint(
                condition=Q(on_hand__gte=0),
                name="stock_never_negative",
                violation_error_message="There cannot be fewer than none. Count it again.",
            ),
            models.CheckConstraint(
                condition=Q(by_batch=False) | Q(on_hand=0),
                name="stock_by_batch_is_counted_in_batches",
                violation_error_message=(
                    "Pieces without a batch are still on file. Count them down to 0 first."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("rentals:stock_item", self.pk)


class ElectrodeBatch(models.Model):
    """Pieces of one batch. Of those that last the loan the first to expire goes out first; an
    expired one never.
    """

    item = models.ForeignKey(StockItem, on_delete=models.PROTECT, related_name="batches")
    batch_number = models.CharField(max_length=40)
    expires_on = models.DateField(null=True, blank=True)
    on_hand = models.IntegerField(default=0)
    received_on = models.DateField(null=True, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["expires_on", "pk"]
        verbose_name_plural = "electrode batches"
        constraints = [
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="batch_never_negative"),
            models.UniqueConstraint(
                fields=["item", "batch_number"], name="batch_number_once_per_item"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item.name}, batch {self.batch_number}"


class PackagingManager(NotedManager["PackagingPart"]):
    """Stock items that are packaging."""

    def get_queryset(self) -> models.QuerySet[PackagingPart]:
        return super().get_queryset().filter(kind__in=PACKAGING_KINDS)


class PackagingPart(StockItem):
    """Boxes, pouches and small-parts bags: counted, and most of them come back."""

    objects: ClassVar[PackagingManager] = PackagingManager()

    class Meta:
        proxy = True
