"""The filter above a list: its words and its choices, taken from the address."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, QueryDict

LONGEST_WORDS = 100
WORDS = "q"


@dataclass(frozen=True)
class FilterChoice:
    """One choice beside the words; `options` are values with what they are called."""

    name: str
    label: str
    options: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class ListFilter:
    """What a list is asked for: `values` by name, the words among them as ``q``."""

    values: dict[str, str]
    choices: tuple[FilterChoice, ...]

    @property
    def words(self) -> str:
        return self.values[WORDS]

    def chosen(self, name: str) -> str:
        """The value of a choice; empty where none was made."""
        return self.values[name]

    def context(self) -> dict[str, Any]:
        """What the form above the list needs."""
        return {WORDS: self.words, "choices": [self._drawn(choice) for choice in self.choices]}

    def _drawn(self, choice: FilterChoice) -> dict[str, Any]:
        chosen = self.values[choice.name]
        options = [(value, words, value == chosen) for value, words in choice.options]
        return {"name": choice.name, "label": choice.label, "options": options}


def list_filter(
    request: HttpRequest, *choices: FilterChoice, usual: Mapping[str, str] | None = None
) -> ListFilter:
    """The filter of a list, as the address asks for it; `usual` is what an address without any
    filter means.
    """
    names = [choice.name for choice in choices]
    values = filter_values(request.GET, names)
    if usual and not any(name in request.GET for name in values):
        values |= usual
    return ListFilter(values, choices)


def filter_values(query: QueryDict, names: Iterable[str]) -> dict[str, str]:
    """Words and choices by name, empty where nothing was asked for."""
    return {name: _text(query.get(name, "")) for name in (WORDS, *names)}


def _text(typed: str) -> str:
    """A text without what no database takes (NUL), and not longer than a name."""
    return typed.replace("\x00", "").strip()[:LONGEST_WORDS]
