"""Parts with a serial number. One table holds what all share (so one serial can only ever be in one
kit).
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from rentals.addresses import page_address
from rentals.marks import Mark, mark_of
from rentals.noted import NotedManager
from rentals.states import PartEnd, PartPlace

from .kit_types import SERIAL_KINDS, PartKind
from .search_words import Searched, SearchedManager


class Part(Searched):
    """A thing with a serial and an own label code; in a kit, or somewhere that `place` names."""

    Place = PartPlace

    code = models.CharField(max_length=12, unique=True)
    kind = models.CharField(max_length=20, choices=[(k.value, k.label) for k in SERIAL_KINDS])
    serial = models.CharField(max_length=60)
    kit = models.ForeignKey(
        "rentals.Kit", on_delete=models.PROTECT, null=True, blank=True, related_name="parts"
    )
    place = models.CharField(max_length=8, choices=Place.choices, default=Place.SPARE)
    ended_on = models.DateField(
        null=True, blank=True, help_text="The day on which it was lost or retired."
    )
    ended_as = models.CharField(max_length=8, choices=PartEnd.choices, blank=True)
    damaged = models.BooleanField(default=False)
    damage_note = models.CharField(max_length=200, blank=True)
    bought_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)

    objects = SearchedManager()
    found_by, word_of, joined = frozenset({"serial"}), "part", True

    class Meta:
        ordering = ["kind", "code"]
        constraints = [
            models.UniqueConstraint("kind", Lower("serial"), name="part_serial_once_per_kind"),
            models.CheckConstraint(
                condition=Q(place=PartPlace.FITTED, kit__isnull=False)
                | (~Q(place=PartPlace.FITTED) & Q(kit__isnull=True)),
                name="part_in_a_kit_exactly_when_fitted",
            ),
        ]
        indexes = [models.Index(fields=["kind", "place"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.code} (serial {self.serial})"

    def get_absolute_url(self) -> str:
        return page_address("rentals:part", self.code)

    @property
    def mark(self) -> Mark:
        """How its place is shown."""
        return mark_of(PartPlace(self.place))


class Amplifier(Part):
    """The two-lead amplifier, with its own noise limit once that is learnt."""

    channels = models.PositiveSmallIntegerField(default=1)
    noise_limit_uv = models.FloatField(
        null=True, blank=True, help_text="Own limit, microvolts RMS, full band."
    )


class LicenceKey(Part):
    """A software licence on a USB stick."""

    product_text = models.CharField(max_length=120, blank=True)
    expires_on = models.DateField(null=True, blank=True)


class LeadSet(Part):
    """Two active leads and a ground."""


class Lead(models.Model):
    """One lead of a set. Colour is whatever the owner uses."""

    class Role(models.TextChoices):
        A = "A", "active A"
        B = "B", "active B"
        GROUND = "ground", "ground"

    lead_set = models.ForeignKey(LeadSet, on_delete=models.CASCADE, related_name="leads")
    role = models.CharField(max_length=6, choices=Role.choices)
    colour = models.CharField(max_length=30, blank=True)
    damaged = models.BooleanField(default=False)
    replaced_on = models.DateField(null=True, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["lead_set", "role"]
        constraints = [
            models.UniqueConstraint(fields=["lead_set", "role"], name="lead_role_once_per_set")
        ]

    def __str__(self) -> str:
        return f"Lead {self.role} of {self.lead_set.code}"


class BatteryPack(Part):
    """Cells with their holder."""

    class Chemistry(models.TextChoices):
        ALKALINE = "alkaline", "alkaline"
        NIMH = "nimh", "rechargeable (NiMH)"
        LITHIUM = "lithium", "lithium primary"

    chemistry = models.CharField(max_length=8, choices=Chemistry.choices, default=Chemistry.NIMH)
    cells = models.PositiveSmallIntegerField(default=2)
    capacity_mah = models.PositiveIntegerField(null=True, blank=True)
    charge_count = models.PositiveIntegerField(default=0)


class Charger(Part):
    """A charger that belongs to one chemistry."""

    chemistry = models.CharField(
        max_length=8, choices=BatteryPack.Chemistry.choices, default=BatteryPack.Chemistry.NIMH
    )


DETAIL_MODELS: dict[str, type[Part]] = {
    PartKind.AMPLIFIER: Amplifier,
    PartKind.LICENCE_KEY: LicenceKey,
    PartKind.LEAD_SET: LeadSet,
    PartKind.BATTERY_PACK: BatteryPack,
    PartKind.CHARGER: Charger,
}
