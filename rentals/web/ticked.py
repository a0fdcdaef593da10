"""Which rows of a list were ticked, as the address says it."""

from __future__ import annotations

from django.http import HttpRequest

from rentals.row_numbers import row_number

#: A page of a list shows fewer; a longer address is nobody's list.
MOST_TICKED = 200


def ticked_codes(request: HttpRequest) -> list[str]:
    """Codes of the kits or parts that were ticked, each once."""
    typed = (code.replace("\x00", "") for code in request.GET.getlist("code"))
    return list(dict.fromkeys(typed))[:MOST_TICKED]


def ticked_rows(request: HttpRequest, name: str) -> list[int]:
    """Numbers of the rows that were ticked, each once."""
    numbers = map(row_number, request.GET.getlist(name))
    return list(dict.fromkeys(n for n in numbers if n is not None))[:MOST_TICKED]
