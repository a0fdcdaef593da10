"""Pages of a list of rows that cost what they show, wherever in the list they are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.core.paginator import Page, Paginator
from django.db import connection
from django.db.models import QuerySet
from django.db.models.expressions import RawSQL
from django.db.models.query import ModelIterable
from django.db.models.sql import Query
from django.utils.functional import cached_property

#: So many rows that were searched for are counted by their numbers, which their pages need anyway.
FOUND_AT_ONCE = 10_000


class ListPages(Paginator[Any]):
    """As Django's. Of rows, the numbers of those on the page are looked up first, from the nearer
    end of the list and by nothing but its filter and order; what else belongs to a row is then read
    for these alone. What is searched for through other tables is looked for once: most of the work
    is to find it, be it to count it or to show it.
    """

    #: Reads the rows of a page by their numbers, in their order; they are read as they were found
    #: where it is not given.
    rows_of: Callable[[list[int]], list[Any]] | None = None

    @cached_property
    def count(self) -> int:
        """How many rows there are."""
        return super().count if self.all_found is None else len(self.all_found)

    @property
    def all_found(self) -> list[int] | None:
        """The numbers of all rows; None where they are not searched for, or are very many."""
        found = self._found
        return found if found is not None and len(found) <= FOUND_AT_ONCE else None

    @cached_property
    def _found(self) -> list[int] | None:
        """The numbers of the first rows, one more than are counted so; None where the rows are not
        searched for.
        """
        rows = self.object_list
        if not isinstance(rows, QuerySet) or not _plain(rows) or not _searched(rows):
            return None
        return _read(_by_number(rows)[: FOUND_AT_ONCE + 1])

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
        if self._found is not None and past <= len(self._found):
            numbers = self._found[first:past]
        else:
            numbers = _numbers(rows, first, past, self.count)
        shown = self.rows_of(numbers) if self.rows_of else _rows_by_number(rows, numbers)
        return Page(shown, number, self)


def all_numbers_found(page: Page[Any]) -> list[int] | None:
    """The numbers of all rows of the list that a page is of; None where they are not known."""
    pages = page.paginator
    return pages.all_found if isinstance(pages, ListPages) else None


def _plain(rows: QuerySet[Any]) -> bool:
    """Whether they are rows of one table, neither cut nor joined to others by a union."""
    query = rows.query
    whole = not query.is_sliced and not query.combinator
    return whole and rows._iterable_class is ModelIterable


def _searched(rows: QuerySet[Any]) -> bool:
    """Whether rows are found by what is found in other tables."""
    return any(
        isinstance(getattr(one, "rhs", None), Query | RawSQL) for one in rows.query.where.children
    )


def _by_number(rows: QuerySet[Any]) -> QuerySet[Any, int]:
    return rows.select_related(None).prefetch_related(None).values_list("pk", flat=True)


def _numbers(rows: QuerySet[Any], first: int, past: int, count: int) -> list[int]:
    """The numbers of the rows from `first` up to `past`, in the order of the list."""
    numbers = _by_number(rows)
    if first > count - past:
        return _read(numbers.reverse()[count - past : count - first])[::-1]
    return _read(numbers[first:past])


def _read(numbers: QuerySet[Any, int]) -> list[int]:
    """The numbers as the driver has them; Django handles each by itself."""
    try:
        query = numbers.query.sql_with_params()
    except EmptyResultSet:
        return []
    with connection.cursor() as cursor:
        cursor.execute(*query)
        return [number for (number,) in cursor.fetchall()]


def _rows_by_number(rows: QuerySet[Any], numbers: list[int]) -> list[Any]:
    shown = rows.order_by()
    if rows.query.group_by is None:
        # They are known by their numbers now: what they were found by is not asked again.
        shown.query.clear_where()
    found = {row.pk: row for row in shown.filter(pk__in=numbers)}
    return [found[number] for number in numbers if number in found]
