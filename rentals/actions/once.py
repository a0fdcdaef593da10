"""Doing a submitted form once, however often it arrives."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from rentals.models import SubmittedForm


def once(
    key: str | uuid.UUID | None,
    act: str,
    do: Callable[[], str],
    *,
    by: AbstractBaseUser | None = None,
) -> str:
    """Run `do` for a form key that was not carried out yet; give the earlier result where it was.

    Parameters
    ----------
    key : str, uuid.UUID or None
        The hidden key of the form. Without one (a script, a test) `do` simply runs.
    act : str
        Name of the act, kept with the key.
    do : callable
        Carries out the act and returns where to go next (a URL path).

    The key and the act are written in one transaction: if `do` refuses, the key stays free for the
    corrected form.
    """
    try:
        form_key = None if key in (None, "") else uuid.UUID(str(key))
    except ValueError:
        form_key = None
    if form_key is None:
        return do()
    earlier = SubmittedForm.objects.filter(pk=form_key).first()
    if earlier is not None:
        return earlier.result
    try:
        with transaction.atomic():
            entry = SubmittedForm.objects.create(key=form_key, act=act, by=by)
            entry.result = do()
            entry.save(update_fields=["result"])
            return entry.result
    except IntegrityError:
        # Two copies of one form at the same moment: the other one won, its result is ours too.
        earlier = SubmittedForm.objects.filter(pk=form_key).first()
        if earlier is None:
            raise
        return earlier.result
