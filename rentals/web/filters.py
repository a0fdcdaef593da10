"""The filter above a list: its words and its choices, taken from the address."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest

LONGEST_WORDS = 100


def filter_words(request: HttpRequest) -> str:
    """The words of a list's filter, without what no database takes in a text (NUL) and not longer
    than a name.
    """
    return request.GET.get("q", "").replace("\x00", "").strip()[:LONGEST_WORDS]


def filter_choice(
    name: str, label: str, options: Iterable[tuple[str, str]], chosen: str
) -> dict[str, Any]:
    """One choice of a filter, as its template wants it; `options` are values with their words."""
    return {
        "name": name,
        "label": label,
        "options": [
            {"value": value, "label": words, "current": value == chosen} for value, words in options
        ],
    }
