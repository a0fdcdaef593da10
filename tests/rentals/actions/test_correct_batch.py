"""A batch is corrected, and the item's history keeps what stood there."""

from datetime import UTC, date, datetime, timedelta

import pytest

from rentals.actions.correct_batch import correct_batch
from rentals.errors import Refused
from rentals.models import Event
from rentals.verify import verify
from tests.factories import ElectrodeBatchFactory

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 5, 1, 12, tzinfo=UTC)


def facts(batch, **changes):
    names = ("batch_number", "expires_on", "on_hand")
    return {name: getattr(batch, name) for name in names} | {"at": NOW} | changes


def test_number_expiry_and_count_are_corrected_in_one_event_of_the_chain():
    batch = ElectrodeBatchFactory(batch_number="G1", expires_on=date(2027, 1, 31), on_hand=40)
    day = date(2028, 1, 31)
    changes = {"batch_number": " G7 ", "expires_on": day, "on_hand": 38, "reason": " misread "}
    correct_batch(batch, **facts(batch, **changes))
    batch.refresh_from_db()
    assert (batch.batch_number, batch.expires_on, batch.on_hand) == ("G7", day, 38)
    event = Event.objects.get(chain=f"stock {batch.item.pk}")
    assert event.text.endswith(
        "batch G1 corrected: number G7, expires 31 Jan 2028 (was 31 Jan 2027), 38 on hand (was"
        " 40): misread."
    )
    assert event.data["before"] == {"batch": "G1", "expires_on": "2027-01-31", "on_hand": 40}
    correct_batch(batch, **facts(batch, expires_on=None))
    assert verify() == []


def test_nothing_changed_writes_nothing():
    batch = ElectrodeBatchFactory(expires_on=NOW.date() - timedelta(days=9))
    correct_batch(batch, **facts(batch))
    assert not Event.objects.filter(chain=f"stock {batch.item.pk}").exists()


def test_what_cannot_be_is_refused_beside_its_field():
    batch = ElectrodeBatchFactory()
    twin = ElectrodeBatchFactory(item=batch.item)
    past = NOW.date() - timedelta(days=1)
    for wrong, field in (
        ({"batch_number": " "}, "batch_number"),
        ({"batch_number": twin.batch_number}, "batch_number"),
        ({"on_hand": -1}, "on_hand"),
        ({"expires_on": past}, "expired_already"),
    ):
        with pytest.raises(Refused) as refusal:
            correct_batch(batch, **facts(batch, **wrong))
        assert refusal.value.field == field
    correct_batch(batch, **facts(batch, expires_on=past, expired_already=True))
    batch.refresh_from_db()
    assert batch.expires_on == past
