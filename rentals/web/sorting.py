"""The order of a list, taken from the address: headings are links, and a choice beside the filter
does the same where headings are not seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import F, QuerySet
from django.http import HttpRequest

from .filters import FilterChoice

SORT = "sort"


@dataclass(frozen=True)
class SortKey:
    """One way to order a list: the word in the address, its name, the fields it goes by. Days of
    what has happened are looked at `latest_first`.
    """

    name: str
    label: str
    fields: tuple[str, ...]
    latest_first: bool = False

    @property
    def options(self) -> tuple[str, str]:
        """The words for this order and for its reverse."""
        if self.latest_first:
            return f"{self.label}, latest first", f"{self.label}, earliest first"
        return self.label, f"{self.label}, from the end"


@dataclass(frozen=True)
class SortHead:
    """A heading of a column: `aria` is how the list is sorted by it now ("none" where it is not),
    `value` what the address says to sort by it, or the other way round.
    """

    label: str
    aria: str
    value: str


@dataclass(frozen=True)
class ListOrder:
    """The order that a list is shown in."""

    keys: tuple[SortKey, ...]
    chosen: SortKey
    descending: bool

    def applied(self, rows: QuerySet[Any]) -> QuerySet[Any]:
        """The rows in this order; rows that are equal in it keep the order of their numbers (the
        last made first, where the latest are), so that no page of the list shows one twice. What is
        empty comes last either way.
        """
        # Said only where something can be empty: no index serves the order otherwise.
        fields = [(F(name), _may_be_empty(rows, name) or None) for name in self.chosen.fields]
        if self.descending:
            ordered = [field.desc(nulls_last=last) for field, last in fields]
        else:
            ordered = [field.asc(nulls_last=last) for field, last in fields]
        falling = self.descending and self.chosen.latest_first
        return rows.order_by(*ordered, "-pk" if falling else "pk")

    @property
    def heads(self) -> dict[str, SortHead]:
        """The headings by the word of their key."""
        return {key.name: self._head(key) for key in self.keys}

    def _head(self, key: SortKey) -> SortHead:
        if key != self.chosen:
            return SortHead(key.label, "none", key.name)
        reverse = key.name if self.descending != key.latest_first else f"-{key.name}"
        return SortHead(key.label, "descending" if self.descending else "ascending", reverse)


def _may_be_empty(rows: QuerySet[Any], name: str) -> bool:
    """Whether a field, or what was worked out under its name, may be empty in some row."""
    if name in rows.query.annotations:
        return True
    model: Any = rows.model
    for step in name.split("__"):
        field = model._meta.get_field(step)
        if field.null:
            return True
        model = field.related_model
    return False


def list_order(request: HttpRequest, keys: Sequence[SortKey]) -> ListOrder:
    """The order that the address asks for; the first key where it names none of them."""
    wanted = request.GET.get(SORT, "")
    by_name = {key.name: key for key in keys}
    chosen = by_name.get(wanted.removeprefix("-"))
    if chosen is None:
        return ListOrder(tuple(keys), keys[0], descending=keys[0].latest_first)
    reverse = wanted.startswith("-")
    return ListOrder(tuple(keys), chosen, descending=reverse != chosen.latest_first)


def sort_choice(keys: Sequence[SortKey]) -> FilterChoice:
    """The same as a choice of the filter: it keeps the order while the words change, and sorts on
    phones, which show no headings.
    """
    options = []
    for key in keys:
        words, reverse = key.options
        options.append(("" if key == keys[0] else key.name, words))
        options.append((f"-{key.name}", reverse))
    return FilterChoice(SORT, "Sorted by", options)
