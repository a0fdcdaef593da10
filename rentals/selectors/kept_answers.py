"""Answers that are dear to work out, kept in memory by each process while no table that they were
worked out of has changed. What holds no more is let go, so that nobody who was erased stays in it.

Which tables these are is not said by anybody: the queries are watched. An answer that read a table
without a mark is not kept. The marks are read before the answer is, so it may be newer than they
say, never older.
"""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Callable, Collection, Hashable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from threading import Lock, local
from typing import Any, TypeVar, cast

from django.apps import apps
from django.db import connection

from rentals.quiet_changes import marks_of_read
from rentals.table_marks import marks_now

Answer = TypeVar("Answer")

MOST_KEPT = 400
"""Answers a process keeps; those that were asked for longest ago go first."""
_WORDS = re.compile(r"\w+")


@dataclass(frozen=True)
class _KeptAnswer:
    marks: Mapping[str, Any]
    """Of the tables that were read."""
    answer: Any


_kept: OrderedDict[Hashable, _KeptAnswer] = OrderedDict()
_lock = Lock()


class _Here(local):
    """Of this thread: what the answers under way have read, and whether it reads apart from
    them.
    """

    def __init__(self) -> None:
        self.reading: list[set[str]] = []
        self.apart = False


_here = _Here()


class KeptAnswers:
    """The answers of one page, to the marks as they are when it begins. Not to be shared by
    threads.
    """

    def __init__(self) -> None:
        self._marks = marks_now()
        self._under_way: list[set[str]] = []
        self._tidied = False

    def of(self, question: Hashable, find: Callable[[], Answer]) -> Answer:
        """The answer to a question: as it is kept, or found.

        Parameters
        ----------
        question : Hashable
            All that the answer depends on besides the database, such as the day.
        find : Callable
            Reads the database only. Whatever it is handed from outside must be part of the
            question; what another question answers is asked for within. The answer is shared by
            threads, so nobody changes it.
        """
        kept = _taken(question)
        if kept is None or not self._holds(kept):
            with self._watched() as read:
                answer = find()
            kept = _KeptAnswer({name: self._marks.get(name) for name in read}, answer)
            if None not in kept.marks.values():
                self._keep(question, kept)
        for around in self._under_way:
            around.update(kept.marks)
        return cast("Answer", kept.answer)

    def _holds(self, kept: _KeptAnswer) -> bool:
        return all(self._marks.get(name) == mark for name, mark in kept.marks.items())

    def _keep(self, question: Hashable, kept: _KeptAnswer) -> None:
        with _lock:
            if not self._tidied:
                for old in [old for old, was in _kept.items() if not self._holds(was)]:
                    del _kept[old]
                self._tidied = True
            _kept[question] = kept
            while len(_kept) > MOST_KEPT:
                _kept.popitem(last=False)

    @contextmanager
    def _watched(self) -> Iterator[set[str]]:
        """The tables that queries name from here on."""
        read: set[str] = set()

        def watch(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
            if not _here.apart:
                read.update(_marks_read(sql, params))
            return execute(sql, params, many, context)

        self._under_way.append(read)
        _here.reading.append(read)
        try:
            with connection.execute_wrapper(watch):
                yield read
        finally:
            _here.reading.pop()
            self._under_way.pop()


@contextmanager
def reads_apart() -> Iterator[set[str]]:
    """The marks of what queries name from here on, which do not count for the answers under way;
    see `count_as_read`.
    """
    read: set[str] = set()

    def collect(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        read.update(_marks_read(sql, params))
        return execute(sql, params, many, context)

    around, _here.apart = _here.apart, True
    try:
        with connection.execute_wrapper(collect):
            yield read
    finally:
        _here.apart = around


def count_as_read(marks: Collection[str]) -> None:
    """Have the answers under way hang on these marks too."""
    for read in _here.reading:
        read.update(marks)


def _marks_read(sql: str, given: Any) -> set[str]:
    """The marks of all tables that a query names, so far as it reads of them what they mark."""
    words = set(_WORDS.findall(sql))
    return marks_of_read(_tables() & words, words, sql, given)


@cache
def _tables() -> frozenset[str]:
    models = apps.get_models(include_auto_created=True)
    return frozenset(model._meta.db_table for model in models)


def forget_answers() -> None:
    """Have every answer be found anew, as if all tables had changed."""
    with _lock:
        _kept.clear()


def _taken(question: Hashable) -> _KeptAnswer | None:
    with _lock:
        kept = _kept.get(question)
        if kept is not None:
            _kept.move_to_end(question)
        return kept
