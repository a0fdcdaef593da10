"""Kit types and their contents lists: what belongs in a complete kit."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django_countries.fields import CountryField

from rentals.addresses import page_address
from rentals.counts import pieces
from rentals.noted import NotedManager


class PartKind(models.TextChoices):
    """Kinds of parts. The first group carries serial numbers, the second is counted."""

    AMPLIFIER = "amplifier", "Amplifier"
    LICENCE_KEY = "licence_key", "Licence key"
    LEAD_SET = "lead_set", "Lead set"
    BATTERY_PACK = "battery_pack", "Battery pack"
    CHARGER = "charger", "Charger"
    ELECTRODES = "electrodes", "Electrodes"
    SWABS = "swabs", "Swabs"
    BAND = "band", "Band"
    CABLE = "cable", "Cable"
    BOX = "box", "Box"
    POUCH = "pouch", "Pouch"
    SMALL_BAG = "small_bag", "Small bag"
    CARD = "card", "Card"


class TrackedBy(models.TextChoices):
    """How the pieces of a line are known: each by its serial, or only by their number."""

    SERIAL = "serial", "by serial"
    COUNT = "count", "by count"


SERIAL_KINDS = (
    PartKind.AMPLIFIER,
    PartKind.LICENCE_KEY,
    PartKind.LEAD_SET,
    PartKind.BATTERY_PACK,
    PartKind.CHARGER,
)


class KitType(models.Model):
    """A contents list under a name; kits are built to it."""

    name = models.CharField(max_length=80, unique=True)
    description = models.TextField(blank=True)
    instructions = models.TextField(
        blank=True,
        help_text=(
            "Care of leads and cells, printed on the packing list and shown on the student's page."
        ),
    )
    drain_ma = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(2000)],
        help_text=(
            "Current that the amplifier draws from its cells, as its papers say. With it each loan"
            " says whether the cells last."
        ),
    )
    active = models.BooleanField(default=True)

    objects = NotedManager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("rentals:kit_type", self.pk)


class LineFacts(models.Model):
    """What a contents list says of `quantity` pieces of one kind of part."""

    Tracked = TrackedBy

    order = models.PositiveSmallIntegerField(default=0, help_text="Order of packing.")
    part_kind = models.CharField(max_length=20, choices=PartKind.choices)
    name = models.CharField(max_length=80)
    quantity = models.PositiveSmallIntegerField(default=1)
    tracked_by = models.CharField(max_length=6, choices=Tracked.choices, default=Tracked.COUNT)
    comes_back = models.BooleanField(default=True)
    single_use = models.BooleanField(default=False)
    cleaned_between_users = models.BooleanField(default=False)
    replacement_price = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(0))
    life_months = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(600)],
        help_text=(
            "Months over which it loses its price, evenly. A charge for it is proposed by its age;"
            " left empty, the whole price."
        ),
    )
    residual_percent = models.PositiveSmallIntegerField(
        default=0,
        validators=[MaxValueValidator(100)],
        help_text="Percent of the price that it is still worth after that.",
    )
    mass_g = models.PositiveIntegerField(default=0, help_text="Grams a piece.")
    days_beyond_due = models.PositiveSmallIntegerField(
        default=0, help_text="Days that a batch must last beyond the day the kit is due back."
    )
    inner_bag = models.CharField(max_length=60, blank=True)
    origin = CountryField(blank=True, blank_label="not given")
    tariff_number = models.CharField(
        max_length=14, blank=True, help_text="Harmonized System, six digits or more."
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return pieces(self.quantity, self.name)

    @property
    def by_serial(self) -> bool:
        """Whether each piece is a part with a serial; other pieces are only counted."""
        return self.tracked_by == self.Tracked.SERIAL


class ContentsLine(LineFacts):
    """One line of a contents list."""

    kit_type = models.ForeignKey(KitType, on_delete=models.CASCADE, related_name="lines")
    stock_item = models.ForeignKey(
        "rentals.StockItem",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="contents_lines",
    )

    objects = NotedManager()

    class Meta:
        ordering = ["kit_type", "order", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=1),
                name="contents_quantity_at_least_one",
                violation_error_message="A line holds at least one piece.",
            ),
            models.CheckConstraint(
                condition=Q(replacement_price__gte=0),
                name="contents_price_not_negative",
                violation_error_message="A replacement price is 0 or more.",
            ),
            models.CheckConstraint(
                condition=~Q(single_use=True, comes_back=True),
                name="contents_single_use_never_comes_back",
                violation_error_message="What is single-use never comes back. Untick one of them.",
            ),
            models.CheckConstraint(
                condition=~Q(single_use=True, cleaned_between_users=True),
                name="contents_single_use_is_not_cleaned",
                violation_error_message="What is single-use is not cleaned. Untick one of them.",
            ),
            models.CheckConstraint(
                condition=Q(tracked_by=TrackedBy.COUNT)
                | Q(part_kind__in=[k.value for k in SERIAL_KINDS]),
                name="contents_serial_only_for_serial_kinds",
                violation_error_message="Parts of this kind have no serials: let it be counted.",
            ),
            models.CheckConstraint(
                condition=Q(tracked_by=TrackedBy.COUNT) | Q(stock_item__isnull=True),
                name="contents_serial_has_no_stock_item",
                violation_error_message=(
                    "A part with a serial is not taken from counted stock. Leave the item out."
                ),
            ),
        ]


class RemovedLine(LineFacts):
    """A line taken off a contents list: it can be put back, and the parcels that were already begun
    still pack it.
    """

    kit_type = models.ForeignKey(KitType, on_delete=models.CASCADE, related_name="removed_lines")
    stock_item = models.ForeignKey(
        "rentals.StockItem", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    removed_at = models.DateTimeField()
    still_packed_in = models.ManyToManyField(
        "rentals.Loan", blank=True, related_name="lines_still_packed"
    )

    class Meta:
        ordering = ["-removed_at", "-pk"]
