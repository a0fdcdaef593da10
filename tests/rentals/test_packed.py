"""What hashes are made over is written as Python's own JSON is, however it comes about."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.actions.record import EventFacts
from rentals.packed import packer, quoted

_plain = st.none() | st.booleans() | st.integers() | st.floats() | st.text()
_json = st.recursive(
    _plain, lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=12
)
#: Never judged by the clock of a busy machine.
unhurried = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
_number = st.none() | st.integers(0, 10**9)


def _as_python_does(facts: object) -> str:
    return json.dumps(facts, sort_keys=True, separators=(",", ":"), default=str)


@unhurried
@given(_json)
def test_facts_are_written_as_json_does_it(facts):
    assert packer(str)(facts) == packer()(facts) == _as_python_does(facts)


@unhurried
@given(st.text())
def test_a_text_is_quoted_as_json_does_it(text):
    assert quoted(text) == _as_python_does(text)


def test_what_json_does_not_know_is_written_in_words():
    moment = datetime(2026, 7, 21, 9, 1, tzinfo=UTC)
    facts = [Decimal("12.50"), moment, moment.date(), None]
    assert packer(str)(facts) == _as_python_does(facts)


@unhurried
@given(
    chain=st.text(),
    number=st.integers(1, 10**6),
    words=st.text(),
    data=st.dictionaries(st.text(), _json) | _json,
    actor=st.text(),
    rows=st.tuples(_number, _number, _number),
)
def test_an_event_is_hashed_over_all_it_says(chain, number, words, data, actor, rows):
    at = datetime(2026, 7, 21, 9, 1, tzinfo=timezone(timedelta(hours=2)))
    event = EventFacts(chain, number, at, "noted", words, data, actor, *rows, "before")
    facts = event._asdict() | {"at": "2026-07-21T07:01:00.000000+00:00"}
    assert event.hash == hashlib.sha256(_as_python_does(facts).encode()).hexdigest()
