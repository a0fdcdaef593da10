"""Doing a submitted form once, however often it arrives."""

from __future__ import annotations

import functools
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime, timedelta
from typing import ParamSpec, TypeVar

from django.contrib.auth.models import User
from django.db import DatabaseError, IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.disk_full import DISK_FULL, is_disk_full
from rentals.errors import Refused
from rentals.models import SubmittedForm
from rentals.store_away import STORE_AWAY, store_away
from rentals.through_locks import is_lock, through_locks

#: Nobody sends a form again that was opened longer ago than this.
KEPT_FOR = timedelta(days=14)
#: Seconds that a form waits for the database when something else holds it.
LONGEST_WAIT_S = 10
BUSY = (
    "The desk's data were held by something else for more than ten seconds, so nothing was changed."
    " What you entered is still here: press again."
)

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")

_in_form: ContextVar[bool] = ContextVar("in_form", default=False)


def once(
    key: str | uuid.UUID | None,
    act: str,
    do: Callable[[], str],
    *,
    by: User | None = None,
    expected: str = "",
) -> str:
    """Run `do` for a form key that was not carried out yet; give the earlier result where it was.

    Parameters
    ----------
    key : str, uuid.UUID or None
        The hidden key of the form. Without one (a script) `do` is not kept.
    act : str
        Name of the act, kept with the key.
    do : callable
        Carries out the act and returns where to go next (a URL path).
    expected : str
        What `do` returns, where that is known beforehand: it need not be written afterwards then.

    The key and the act are written in one transaction: if `do` refuses, the key stays free for the
    corrected form. Where somebody else's lock is in the way it is tried again.

    Raises
    ------
    Refused
        If `do` refuses, or a lock stays for ten seconds.
    """
    return patiently(lambda: _once(key, act, do, by=by, expected=expected))


def patiently(do: Callable[[], Result]) -> Result:
    """What `do` returns; `Refused` where a lock stays in its way for ten seconds, the disk is full
    or the store of files is away.
    """
    with refused_in_words():
        return through_locks(do, longest_s=LONGEST_WAIT_S)


@contextmanager
def refused_in_words() -> Iterator[None]:
    """Raise as `Refused` what the desk and not the act stands in the way with: a lock that stays, a
    full disk, a store of files that is away.
    """
    try:
        yield
    except (OSError, DatabaseError) as problem:
        if is_lock(problem):
            raise Refused(BUSY) from problem
        if is_disk_full(problem):
            raise Refused(DISK_FULL) from problem
        if store_away(problem):
            raise Refused(STORE_AWAY) from problem
        raise


def _once(
    key: str | uuid.UUID | None,
    act: str,
    do: Callable[[], str],
    *,
    by: User | None,
    expected: str,
) -> str:
    try:
        form_key = None if key in (None, "") else uuid.UUID(str(key))
    except ValueError:
        form_key = None
    if form_key is None:
        with transaction.atomic():
            return do()
    try:
        with transaction.atomic():
            form = SubmittedForm.objects.create(key=form_key, act=act, by=by, result=expected)
            form.result = _done_in_form(do)
            if form.result != expected:
                form.save(update_fields=["result"])
            return form.result
    except IntegrityError:
        # The same form came before, maybe at this very moment: its result is ours too.
        earlier = SubmittedForm.objects.filter(pk=form_key).first()
        if earlier is None:
            raise
        return earlier.result


def _done_in_form(do: Callable[[], str]) -> str:
    before = _in_form.set(True)
    try:
        return do()
    finally:
        _in_form.reset(before)


def in_form_transaction(action: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Run an action in a transaction of its own, or in that of the submitted form that carries it
    out: a refusal takes the whole form back, so there it needs no savepoint.
    """

    @functools.wraps(action)
    def in_transaction(*args: Arguments.args, **kwargs: Arguments.kwargs) -> Result:
        if _in_form.get():
            return action(*args, **kwargs)
        with transaction.atomic():
            return action(*args, **kwargs)

    return in_transaction


def forget_old_forms(*, at: datetime | None = None) -> int:
    """Delete the keys of forms that were carried out long ago; returns how many that were."""
    before = (at or timezone.now()) - KEPT_FOR
    deleted, _ = SubmittedForm.objects.filter(at__lt=before).delete()
    return deleted
