"""Histories of before, whose hashes stood over the words themselves, are chained anew."""

from importlib import import_module

import pytest
from django.apps import apps

from rentals.models import Event, Kit
from rentals.seals.opening import take_on_key
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
migration = import_module("rentals.migrations.0026_words_of_events_can_go")


def as_before() -> None:
    """Every chain with the hashes that it had before words had their own."""
    last: dict[str, str] = {}
    for event in Event.objects.order_by("chain", "number"):
        event.words_salt = event.words_hash = ""
        event.previous_hash = last.get(event.chain, "")
        event.hash = last[event.chain] = migration._hash(migration._facts(event))
        event.save()
    for kit in Kit.objects.all():
        kit.last_hash = last[kit.code]
        kit.save()


def test_a_whole_history_stays_whole_and_each_event_has_a_salt():
    loan = packed_loan()
    as_before()
    assert verify()
    migration.write_anew(apps, None)
    take_on_key()  # There was no log then.
    assert verify() == []
    salts = Event.objects.filter(kit=loan.kit).values_list("words_salt", flat=True)
    assert len(set(salts)) == len(salts)
    assert "" not in salts


def test_what_was_changed_before_still_shows():
    kit = packed_loan().kit
    as_before()
    changed = Event.objects.filter(kit=kit)[3]
    Event.objects.filter(pk=changed.pk).update(text="Nothing happened.")
    migration.write_anew(apps, None)
    take_on_key()  # There was no log then.
    fault = f"{kit.code}: event {changed.number} was changed after it was written."
    assert verify() == [fault]
