"""Events are followed by plain columns, and judged as by looking at each as an object."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from itertools import groupby
from operator import attrgetter

import pytest
from django.db import connection, transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.actions.record import event_hash, record_part, record_stock, words_hash
from rentals.event_facts import said_by
from rentals.lifecycle import Verb
from rentals.models import Event
from rentals.verifying.chains import Told, _moment, follow_chains
from tests.factories import StockItemFactory, packed_loan, spare

_LETTERS = 'aé“"\\/µ\t\x01\x7f\u2028🎻|{}:0'
_json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.text(), below, max_size=3),
    max_leaves=8,
)


def test_a_moment_of_another_form_is_read_before_it_counts():
    usual = "2026-07-21T09:01:00.000000+00:00"
    assert _moment("2026-07-21 09:01:00") == _moment("2026-07-21 09:01:00.000000") == usual
    assert _moment("2026-07-21T09:01:00") == _moment("2026-07-21 11:01:00+02:00") == usual
    assert _moment("2026-07-21 at nine") == "2026-07-21 at nine"
    there = timezone(timedelta(hours=-3, minutes=-30))
    assert _moment(datetime(2026, 7, 21, 5, 31, tzinfo=there)) == usual


@settings(max_examples=60, deadline=None)
@given(_json, st.sampled_from([None, 1]), st.text(" \n\t", max_size=2))
def test_what_an_event_says_is_read_as_json_reads_it(facts, indent, around):
    text = around + json.dumps(facts, indent=indent) + around
    assert said_by(text) == json.loads(text) == facts


@pytest.mark.parametrize("text", ["", "{", '{"a": 1} x', "[1,", "nul", "{'a': 1}", "\ufeff{}"])
def test_what_is_no_json_is_refused(text):
    with pytest.raises(ValueError, match="JSON|Expecting|Extra|BOM"):
        said_by(text)


@pytest.mark.django_db
@pytest.mark.parametrize("said", ["[]", "null", "0", '""', "false", '{"a": 1}', "[{}]"])
def test_other_facts_in_place_of_none_show(said):
    event = record_part(spare("charger"), Verb.NOTED, "Looked at.")
    assert event.data == {}
    with connection.cursor() as cursor:
        cursor.execute("UPDATE rentals_event SET data = %s WHERE id = %s", [said, event.pk])
    changed = f"{event.chain}: event {event.number} was changed after it was written."
    assert list(follow_chains(Event.objects.filter(chain=event.chain), dict, Told())) == [changed]


@pytest.mark.django_db
def test_any_change_is_told_as_by_looking_at_each_event():
    packed_loan()
    chance, item = random.Random(11), StockItemFactory()
    for _ in range(40):
        minutes, microseconds = chance.randrange(-720, 841, 15), chance.choice([0, 1, 999_999])
        zone = timezone(timedelta(minutes=minutes))
        at = datetime(2026, 10, 25, 2, 30, 0, microseconds, tzinfo=zone)
        facts = {_words(chance): chance.choice([None, 1, 0.1, _words(chance), [{"ü": {}}]])}
        record_stock(item, _words(chance), at=at, **chance.choice([{}, facts]))
    assert _quickly() == list(_slowly()) == []
    numbers = list(Event.objects.values_list("pk", flat=True))
    columns = ["text", "actor_name", "words_hash", "words_salt", "previous_hash", "hash", "at"]
    for column in [*columns, "data", "number", "kit_id", "loan_id", "part_id", "chain"]:
        with transaction.atomic():
            _change(column, chance.choice(numbers), chance)
            assert _quickly() == list(_slowly()), column
            transaction.set_rollback(True)


def _words(chance: random.Random) -> str:
    return "".join(chance.choices(_LETTERS, k=chance.randrange(1, 9)))


def _change(column: str, pk: int, chance: random.Random) -> None:
    values: dict[str, object] = {
        "at": datetime(2001, 2, 3, 4, 5, 6, 7, tzinfo=timezone(timedelta(hours=13))),
        "data": {"by": [_words(chance)]},
        "number": 900,
        "kit_id": None,
        "loan_id": None,
        "part_id": None,
    }
    Event.objects.filter(pk=pk).update(**{column: values.get(column, _words(chance)[:4])})


def _quickly() -> list[str]:
    """What is told of hashes and gaps; whether the life of a kit allows it is another matter."""
    told = follow_chains(Event.objects.all(), dict, Told())
    return [said for said in told if "cannot be" not in said]


def _slowly() -> Iterator[str]:
    """The same by objects, with the hash that is worked out where an event is written."""
    events = Event.objects.order_by("chain", "number")
    for chain, of_chain in groupby(events, key=attrgetter("chain")):
        number, previous = 0, ""
        for event in of_chain:
            if event.number != number + 1:
                yield f"{chain}: event {number + 1} is missing before event {event.number}."
            if event.previous_hash != previous:
                yield f"{chain}: event {event.number} does not follow from the one before it."
            written = event.words_salt and words_hash(event.words_salt, event.text)
            if event_hash(event) != event.hash or written != event.words_hash:
                yield f"{chain}: event {event.number} was changed after it was written."
            number, previous = event.number, event.hash
