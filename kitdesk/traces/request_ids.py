"""The number of a request: it stands in its answer, in every line of the log that it caused, and in
those of the tasks that it left behind.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.conf import settings
from django.http import HttpRequest

HEADER = "X-Request-ID"
#: Where a task's row carries it, beside its arguments.
KEY = "request_id"
#: Hexadecimal figures, perhaps in groups: no name can be written with them.
_WELL_FORMED = re.compile(r"[0-9a-fA-F]{4}[0-9a-fA-F-]{11,59}[0-9a-fA-F]")

_current: ContextVar[str] = ContextVar("request_id", default="")


def current_request_id() -> str:
    """That of the request, or of the task, that is worked on; empty outside of both."""
    return _current.get()


@contextmanager
def carrying(request_id: str) -> Iterator[None]:
    """Whatever happens inside is this request's."""
    before = _current.set(request_id)
    try:
        yield
    finally:
        _current.reset(before)


def id_of(request: HttpRequest) -> str:
    """The one that the proxy in front has given, else a new one. From anybody else none is taken:
    the server leaves the headers of forwarding only to the trusted proxy.
    """
    given = request.headers.get(HEADER, "")
    is_from_proxy = settings.TRUSTED_PROXY and "X-Forwarded-Proto" in request.headers
    if is_from_proxy and _WELL_FORMED.fullmatch(given):
        return given
    return secrets.token_hex(8)


def hand_on(sender: type, instance: Any, **_: object) -> None:
    """A receiver of `pre_save` of tasks: a new one carries the number of the request it is from."""
    if instance._state.adding and current_request_id():
        instance.args_kwargs = {**instance.args_kwargs, KEY: current_request_id()}
