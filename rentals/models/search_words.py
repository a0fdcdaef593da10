"""The words by which students, runs, parts and loans are found, kept with every change of what
they are made from: so that a search looks up an index and never reads all names.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from operator import or_
from typing import Any, TypeVar

from django.db import models
from django.db.models import Q

from rentals.noted import NotedQuerySet
from rentals.plain_words import LONGEST_WORD, words_of

Row = TypeVar("Row", bound=models.Model)
_AT_ONCE = 500
_LEADS_TO = ("student", "run", "part", "loan")


def _leads_only_to(one: str) -> Q:
    return Q(**{f"{column}__isnull": column != one for column in _LEADS_TO})


class SearchWord(models.Model):
    """One word of one student, run, part or loan."""

    word = models.CharField(max_length=LONGEST_WORD)
    student = models.ForeignKey(
        "rentals.Student", on_delete=models.CASCADE, null=True, related_name="search_words"
    )
    run = models.ForeignKey(
        "rentals.CourseRun", on_delete=models.CASCADE, null=True, related_name="search_words"
    )
    part = models.ForeignKey(
        "rentals.Part", on_delete=models.CASCADE, null=True, related_name="search_words"
    )

    loan = models.ForeignKey(
        "rentals.Loan", on_delete=models.CASCADE, null=True, related_name="search_words"
    )

    class Meta:
        ordering = ["pk"]
        indexes = [
            # On PostgreSQL, so that it serves the beginning of a word under any collation.
            models.Index(
                fields=["word", *_LEADS_TO],
                name="search_word_of",
                opclasses=["varchar_pattern_ops", *["int8_ops"] * len(_LEADS_TO)],
            )
        ]
        constraints = [
            models.CheckConstraint(
                condition=reduce(or_, map(_leads_only_to, _LEADS_TO)),
                name="search_word_leads_to_one_thing",
            )
        ]

    def __str__(self) -> str:
        return self.word


class SearchedQuerySet(NotedQuerySet[Row]):
    """Rows whose search words follow what is written in bulk."""

    def update(self, **values: Any) -> int:
        """As Django's; where a searched column changes, the words do too."""
        if not self._found_by.intersection(values):
            return super().update(**values)
        numbers = list(self.values_list("pk", flat=True))
        changed = super().update(**values)
        keep_words(self.model, numbers)
        return changed

    def bulk_create(self, objs: Iterable[Row], *args: Any, **options: Any) -> list[Row]:
        """As Django's."""
        made = super().bulk_create(objs, *args, **options)
        _write(self.model, made)
        return made

    @property
    def _found_by(self) -> frozenset[str]:
        return self.model.found_by  # type: ignore[attr-defined]


class SearchedManager(models.Manager[Row]):
    """The manager of rows that are found by words."""

    def get_queryset(self) -> models.QuerySet[Row]:
        """Rows whose search words follow them."""
        return SearchedQuerySet(self.model, using=self._db)


class Searched(models.Model):
    """A row that is found by the words of its columns `found_by`; `word_of` is its column among the
    words, and serials are found as one word too (`joined`).
    """

    found_by: frozenset[str] = frozenset()
    word_of = ""
    joined = False

    class Meta:
        abstract = True

    def save(self, *args: Any, **options: Any) -> None:
        """As Django's; the words follow."""
        written, new = options.get("update_fields"), self._state.adding
        super().save(*args, **options)
        if new:
            _write(type(self), [self])
        elif written is None or self.found_by.intersection(written):
            keep_words(type(self), [self.pk])


def keep_words(model: type[models.Model], numbers: Iterable[int]) -> None:
    """Have the search words of rows say what the rows say now; those that do already stay."""
    searched = _searched(model)
    numbers = list(numbers)
    for first in range(0, len(numbers), _AT_ONCE):
        few = numbers[first : first + _AT_ONCE]
        rows = searched._base_manager.filter(pk__in=few).only(*searched.found_by)
        wanted = {(row.pk, word) for row in rows for word in _words(row)}
        kept = SearchWord.objects.filter(**{f"{searched.word_of}__in": few})
        there = {
            (row, word): pk for pk, row, word in kept.values_list("pk", searched.word_of, "word")
        }
        if gone := [pk for pair, pk in there.items() if pair not in wanted]:
            SearchWord.objects.filter(pk__in=gone).delete()
        _add(searched, wanted - there.keys())


def _write(model: type[models.Model], rows: Iterable[Any]) -> None:
    """The words of rows that are new."""
    _add(_searched(model), {(row.pk, word) for row in rows for word in _words(row)})


def _add(searched: type[Searched], pairs: set[tuple[int, str]]) -> None:
    column = f"{searched.word_of}_id"
    SearchWord.objects.bulk_create(
        [SearchWord(word=word, **{column: row}) for row, word in sorted(pairs)],
        batch_size=_AT_ONCE,
    )


def _words(row: Searched) -> set[str]:
    return words_of((getattr(row, name) for name in row.found_by), joined=row.joined)


def _searched(model: type[models.Model]) -> type[Searched]:
    """The model whose column leads to the rows: of an amplifier, that of all parts."""
    return next(
        found
        for found in model.__mro__
        if issubclass(found, Searched) and "found_by" in vars(found)
    )
