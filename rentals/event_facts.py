"""What events say beside their words, as of hands that may have changed it: a fact counts only in
the form in which Kitdesk writes it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

from django.db.models import QuerySet
from django.db.models.expressions import RawSQL

from rentals.models import Event
from rentals.plain_rows import plain_rows

#: As the driver has it: SQLite keeps JSON as text.
DATA = RawSQL('"rentals_event"."data"', [])
#: No row has a number beyond it, on either database.
_HIGHEST = 2**63
#: What reading JSON raises of what is none, or is too deep or too long for any fact of ours.
NO_JSON = (ValueError, TypeError, RecursionError)
#: Reads a piece of JSON from a place on, and tells where it ends.
_read_json: Callable[[str, int], tuple[Any, int]]
_read_json = json.JSONDecoder().scan_once  # type: ignore[attr-defined]


class OddFact(ValueError):
    """A fact that lacks, or is of a form in which Kitdesk writes none."""


def said_by(data: Any) -> Any:
    """What an event says beside its words. Raises one of NO_JSON for what is no JSON."""
    if data == "{}":
        return {}
    if not isinstance(data, str):
        return data
    try:
        # What is around it in `json.loads` costs as much as reading a few names.
        said, end = _read_json(data, 0)
    except StopIteration:
        return json.loads(data)
    return said if end == len(data) else json.loads(data)


def facts_said(data: Any) -> dict[str, Any]:
    """The facts that an event has; none where it has none or they cannot be read: its chain tells
    that they were changed.
    """
    try:
        said = said_by(data)
    except NO_JSON:
        return {}
    return said if isinstance(said, dict) else {}


def facts_of(events: QuerySet[Event]) -> Iterator[dict[str, Any]]:
    """The same of each of these events, in their order. Memory stays flat."""
    return (facts_said(data) for (data,) in plain_rows(events.values_list(DATA)))


def row_said(value: Any) -> int:
    """The number of a row. This and the rest raise OddFact for anything else."""
    if type(value) is not int or not 0 < value < _HIGHEST:
        raise OddFact
    return value


def flag_said(value: Any) -> bool:
    """Yes or no."""
    if type(value) is not bool:
        raise OddFact
    return value


def word_said(value: Any) -> str:
    """Words."""
    if type(value) is not str:
        raise OddFact
    return value


def list_said(value: Any) -> list[Any]:
    """A list of anything."""
    if type(value) is not list:
        raise OddFact
    return value


def words_said(value: Any) -> list[str]:
    """A list of words."""
    return [word_said(word) for word in list_said(value)]


def counts_said(value: Any) -> tuple[int, ...]:
    """A list of whole numbers."""
    if not all(type(number) is int for number in list_said(value)):
        raise OddFact
    return tuple(value)


def entry_said(value: Any) -> tuple[int, dict[str, Any]]:
    """The number of an entry of the ledger, and all that is said of it."""
    if type(value) is not dict:
        raise OddFact
    return row_said(value.get("entry")), value


def pairs_said(value: Any) -> Iterator[tuple[str, str]]:
    """Words by words."""
    if type(value) is not dict:
        raise OddFact
    for name, word in value.items():
        yield name, word_said(word)
