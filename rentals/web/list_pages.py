"""Pages of a list of rows that cost what they show, wherever in the list they are."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.db.models.query import ModelIterable


class ListPages(Paginator[Any]):
    """As Django's. Of rows, the numbers of those on the page are looked up first, from the nearer
    end of the list and by nothing but its filter and order; what else belongs to a row is then read
    for these alone.
    """

    def page(self, number: int | str) -> Page[Any]:
        """One page.

        Raises
        ------
        PageNotAnInteger, EmptyPage
            As Django's; `get_page` raises neither.
        """
        rows = self.object_list
        if not isinstance(rows, QuerySet) or not _plain(rows):
            return super().page(number)
        number = self.validate_number(number)
        first = (number - 1) * self.per_page
        past = min(first + self.per_page, self.count)
        shown = _rows_by_number(rows, _numbers(rows, first, past, self.count))
        return Page(shown, number, self)


def _plain(rows: QuerySet[Any]) -> bool:
    """Whether they are rows of one table, neither cut nor joined to others by a union."""
    query = rows.query
    whole = not query.is_sliced and not query.combinator
    return whole and rows._iterable_class is ModelIterable


def _numbers(rows: QuerySet[Any], first: int, past: int, count: int) -> list[int]:
    """The numbers of the rows from `first` up to `past`, in the order of the list."""
    numbers = rows.select_related(None).prefetch_related(None).values_list("pk", flat=True)
    if first > count - past:
        return list(numbers.reverse()[count - past : count - first])[::-1]
    return list(numbers[first:past])


def _rows_by_number(rows: QuerySet[Any], numbers: list[int]) -> list[Any]:
    shown = rows.order_by()
    if rows.query.group_by is None:
        # They are known by their numbers now: what they were found by is not asked again.
        shown.query.clear_where()
    found = {row.pk: row for row in shown.filter(pk__in=numbers)}
    return [found[number] for number in numbers if number in found]
