"""Carriers in Setup."""

from __future__ import annotations

from django.db import IntegrityError

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Carrier
from rentals.post.tracking import pattern_fault


@transaction.atomic
def save_carrier(carrier: Carrier) -> Carrier:
    """Keep a new or changed carrier.

    Raises
    ------
    Refused
        If another one has the name, or the address cannot take a tracking number.
    """
    carrier.name = " ".join(carrier.name.split())
    carrier.address_pattern = carrier.address_pattern.strip()
    if carrier.address_pattern and (fault := pattern_fault(carrier.address_pattern)):
        raise Refused(fault, field="address_pattern")
    twins = Carrier.objects.filter(name__iexact=carrier.name).exclude(pk=carrier.pk)
    if twins.exists():
        raise Refused(f"{carrier.name} is here already.", field="name")
    try:
        with transaction.atomic():
            carrier.save()
    except IntegrityError as twice:
        raise Refused(f"{carrier.name} was added a moment ago.", field="name") from twice
    return carrier


@transaction.atomic
def remove_carrier(carrier: Carrier) -> Carrier:
    """Forget a carrier: loans keep its name, and lose their links."""
    carrier.delete()
    return carrier
