"""Doing what a program sends once, however often it sends it: the header Idempotency-Key."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable

from django.http import HttpRequest

from rentals.actions.once import once

from .problems import DoorProblem
from .tokens import token_of

_SPACE = uuid.UUID("5e0a2a53-6f52-4d38-9a0f-6f0d8b6f4f7e")


def once_for_key(
    request: HttpRequest, key: str | None, act: str, sent: str, do: Callable[[], str]
) -> str:
    """What `do` returns, a short text; what it returned before, where the token has sent this key
    already. The key counts for two weeks.

    Parameters
    ----------
    sent : str
        All that the request says, as text or digest: a key belongs to one request.

    Raises
    ------
    DoorProblem
        If the key came before with something else.
    Refused
        If `do` refuses; the key is free then for the corrected request.
    """
    token = token_of(request)
    form = uuid.uuid5(_SPACE, f"{token.pk} {act} {key}") if key else None
    mark = hashlib.sha256(sent.encode()).hexdigest()[:32]
    result = once(form, act, lambda: f"{mark} {do()}", by=token.account)
    before, _, text = result.partition(" ")
    if before != mark:
        raise DoorProblem(
            422,
            "This Idempotency-Key came before with another request. Use a new key for each.",
            pointer="/header/Idempotency-Key",
        )
    return text
