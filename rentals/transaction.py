"""Transactions of acts: Django's, and at the end the log holds every protected row they wrote.

Actions take theirs from here. What is written outside of them is what `verify` names.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from contextvars import ContextVar
from typing import Any, TypeVar, overload

from django.db import transaction

from rentals.noted import noting, under_way
from rentals.seals.chain import seal

__all__ = ["atomic", "in_this_act", "on_commit", "on_rollback"]

Action = TypeVar("Action", bound=Callable[..., Any])

Undo = Callable[[], object]

on_commit = transaction.on_commit
log = logging.getLogger(__name__)
_undoings: ContextVar[list[Undo] | None] = ContextVar("undoings", default=None)


@overload
def atomic(action: Action) -> Action: ...
@overload
def atomic(action: None = None) -> AbstractContextManager[None]: ...
def atomic(action: Any = None) -> Any:
    """As Django's, to be used as a decorator or with `with`. The log is written once, last in the
    outermost of them.
    """
    return _act()(action) if callable(action) else _act()


def in_this_act() -> AbstractContextManager[None]:
    """The act that is under way, without a savepoint in it, or one of its own: for what fails only
    together with the act around it.
    """
    return nullcontext() if under_way() else _act()


@contextmanager
def _act() -> Iterator[None]:
    with transaction.atomic(), noting() as notes, _undone_on_failure():
        yield
        if notes:
            seal(notes)


def on_rollback(undo: Undo) -> None:
    """Do this where the surrounding act fails: for what no database takes back, such as a file.

    It is done before the rows are free again, so nobody else has come to rely on it. Outside of an
    act nothing is taken back.
    """
    undoings = _undoings.get()
    if undoings is not None:
        undoings.append(undo)


@contextmanager
def _undone_on_failure() -> Iterator[None]:
    undoings = _undoings.get()
    if undoings is None:
        undoings = []
    before, known = _undoings.set(undoings), len(undoings)
    try:
        yield
    except BaseException:
        for undo in reversed(undoings[known:]):
            _try(undo)
        del undoings[known:]
        raise
    finally:
        _undoings.reset(before)


def _try(undo: Undo) -> None:
    """What led here is what is to be said; an undoing that fails as well is only logged."""
    try:
        undo()
    except Exception:
        log.exception("What a failed act had done could not be taken back")
