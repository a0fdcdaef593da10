"""Which rows of a list were ticked, as the address says it."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlsplit, urlunsplit

from django.http import HttpRequest, QueryDict

from rentals.row_numbers import row_number

#: A page of a list shows fewer; a longer address is nobody's list.
MOST_TICKED = 200
#: Where the address of a list says which of its rows were ticked before.
TICKED = "ticked"


def ticked_codes(request: HttpRequest) -> list[str]:
    """Codes of the kits or parts that were ticked, each once."""
    typed = (code.replace("\x00", "") for code in request.GET.getlist("code"))
    return list(dict.fromkeys(typed))[:MOST_TICKED]


def ticked_rows(request: HttpRequest, name: str) -> list[int]:
    """Numbers of the rows that were ticked, each once."""
    numbers = map(row_number, request.GET.getlist(name))
    return list(dict.fromkeys(n for n in numbers if n is not None))[:MOST_TICKED]


def with_ticks(address: str, values: Iterable[object] = ()) -> str:
    """The address of a list in which these rows, and no others, are ticked from the start."""
    parts = urlsplit(address)
    query = QueryDict(parts.query, mutable=True)
    query.pop(TICKED, None)
    query.setlist(TICKED, [str(value) for value in values])
    return urlunsplit(parts._replace(query=query.urlencode()))


def was_ticked(request: HttpRequest, value: object) -> bool:
    """Whether a row of the list is ticked from the start."""
    return str(value) in request.GET.getlist(TICKED)
