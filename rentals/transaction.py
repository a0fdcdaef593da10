"""Transactions of acts: Django's, and at the end the log holds every protected row they wrote.

Actions take theirs from here. What is written outside of them is what `verify` names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any, TypeVar, overload

from django.db import transaction

from rentals.noted import noting
from rentals.seals.chain import seal

__all__ = ["atomic", "on_commit"]

Action = TypeVar("Action", bound=Callable[..., Any])

on_commit = transaction.on_commit


@overload
def atomic(action: Action) -> Action: ...
@overload
def atomic(action: None = None) -> AbstractContextManager[None]: ...
def atomic(action: Any = None) -> Any:
    """As Django's, to be used as a decorator or with `with`. The log is written once, last in the
    outermost of them.
    """
    return _act()(action) if callable(action) else _act()


@contextmanager
def _act() -> Iterator[None]:
    with transaction.atomic(), noting() as notes:
        yield
        if notes:
            seal(notes)
