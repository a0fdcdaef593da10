"""Setting and forgetting how long the post takes."""

import pytest

from rentals.actions.transit import drop_transit, set_transit
from rentals.models import TransitTime

pytestmark = pytest.mark.django_db


def test_days_set_again_replace_those_before_and_are_forgotten() -> None:
    set_transit("ES", days_out=4, days_back=5)
    set_transit("ES", days_out=6, days_back=7)
    row = TransitTime.objects.get()
    assert (row.destination, row.days_out, row.days_back) == ("ES", 6, 7)
    drop_transit("ES")
    assert not TransitTime.objects.exists()
