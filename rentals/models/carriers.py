"""Carriers that the practice posts with, and where their parcels are followed."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from rentals.addresses import page_address


class Carrier(models.Model):
    """A carrier by the name that loans bear, with the address of its tracking page. A loan keeps
    the name as it was written: one that is not here has no link.
    """

    name = models.CharField(max_length=60)
    address_pattern = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="carrier_name_once",
                violation_error_message="A carrier of this name is here already.",
            ),
            models.CheckConstraint(
                condition=Q(address_pattern="")
                | Q(
                    address_pattern__startswith="https://",
                    address_pattern__contains="{number}",
                ),
                name="carrier_address_takes_a_number",
                violation_error_message=(
                    "The address must begin with https:// and hold {number} where the tracking"
                    " number goes."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("rentals:carrier", self.pk)
