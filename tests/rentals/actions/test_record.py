"""Events are chained by their hashes, and a kit moves only as the table of its life says."""

import pytest
from django.db import transaction

from rentals.actions.dispatch import dispatch
from rentals.actions.record import (
    event_hash,
    lock_kit,
    lock_open_loan,
    record_erasure,
    record_kit,
    record_part,
    record_stock,
    words_hash,
)
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Event
from tests.factories import StockItemFactory, assigned_loan, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def test_each_event_of_a_kit_carries_the_hash_of_the_one_before():
    kit = assigned_loan().kit
    events = list(Event.objects.filter(chain=kit.code).order_by("number"))
    assert [event.number for event in events] == list(range(1, kit.event_count + 1))
    hashes = [event.hash for event in events]
    assert [event.previous_hash for event in events] == ["", *hashes[:-1]]
    assert hashes == [event_hash(event) for event in events]
    assert kit.last_hash == hashes[-1]


@pytest.mark.parametrize("name", ["words_hash", "verb", "actor_name", "data", "number", "chain"])
def test_a_changed_event_no_longer_fits_its_hash(name):
    event = Event.objects.filter(kit=complete_kit()).last()
    setattr(event, name, {"other": 1} if name == "data" else 99 if name == "number" else "other")
    assert event_hash(event) != event.hash


def test_words_are_hashed_with_a_salt_of_their_own():
    one, two = (record_part(spare("charger"), Verb.NOTED, "Back from Mia Lund.") for _ in "ab")
    assert one.words_hash == words_hash(one.words_salt, one.text) != two.words_hash


def test_an_erasure_stands_in_the_chain_of_the_students_number():
    events = [record_erasure(7, "Erased.", words={}) for _ in "ab"]
    assert [(event.chain, event.number) for event in events] == [("student 7", 1), ("student 7", 2)]


def test_an_act_out_of_turn_is_refused_and_leaves_no_event():
    kit = complete_kit()
    before = kit.event_count
    with transaction.atomic(), pytest.raises(Refused, match=f"Kit {kit.code}: "):
        record_kit(lock_kit(kit), Verb.DISPATCHED, "Handed over.")
    kit.refresh_from_db()
    assert (kit.state, kit.event_count) == ("shelf", before)
    assert Event.objects.filter(chain=kit.code).count() == before


def test_a_kit_is_locked_by_its_row_its_key_or_its_code():
    kit = complete_kit()
    with transaction.atomic():
        assert lock_kit(kit) == lock_kit(kit.pk) == lock_kit(kit.code) == kit
        with pytest.raises(Refused, match="There is no kit K9999X") as refusal:
            lock_kit("K9999X")
    assert refusal.value.field == "kit"


def test_only_a_loan_that_runs_is_the_kits_open_loan():
    loan = packed_loan()
    dispatch(loan.kit)
    shelf = complete_kit()
    with transaction.atomic():
        assert lock_open_loan(lock_kit(loan.kit)) == loan
        with pytest.raises(Refused, match="not assigned to anybody"):
            lock_open_loan(lock_kit(shelf))


def test_parts_and_stock_have_chains_of_their_own(owner):
    part, item = spare("charger"), StockItemFactory()
    first = Event.objects.filter(chain=part.code).last()
    event = record_part(part, first.verb and Verb(first.verb), "Looked at.", actor=owner)
    assert (event.number, event.previous_hash) == (first.number + 1, first.hash)
    assert event.actor_name == owner.get_username()
    counted = record_stock(item, "Counted.", counted=3)
    assert (counted.chain, counted.number, counted.data) == (f"stock {item.pk}", 1, {"counted": 3})
