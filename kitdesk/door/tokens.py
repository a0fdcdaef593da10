"""Who asks: the token of a request, held against what the operation needs."""

from __future__ import annotations

import contextlib
import time

from django.db import OperationalError
from django.http import HttpRequest
from django.utils import timezone
from ninja.security import HttpBearer

from rentals.actions.access_tokens import note_token_used
from rentals.models import AccessToken
from rentals.selectors.access_tokens import standing_of, token_with
from rentals.web.throttle import Throttle, address_of

from .problems import DoorProblem

WRONG_TOKENS = Throttle("access-token", most=40, seconds=600)


class ScopedToken(HttpBearer):
    """Lets a token in that is in force and has a scope; asked before anything of the body is read.

    A wrong one is counted for the address it comes from. After too many the address hears for a
    while only that it must wait; a right token is let in all the same. Then what no operation of
    that kind knows in the query is refused: a mistyped filter would give the whole list. So is what
    comes twice and is no list: others on its way might read the other one.
    """

    def __init__(self, scope: str, parameters: frozenset[str], lists: frozenset[str]) -> None:
        super().__init__()
        self.scope = scope
        self.parameters = parameters
        self.lists = lists

    def __call__(self, request: HttpRequest) -> AccessToken:
        """The token.

        Raises
        ------
        DoorProblem
            401 for none, a wrong, a revoked or an expired one, 403 for one without the scope, 429
            for one wrong token too many; 422 for a query that the operation does not know.
        """
        scheme, _, key = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer" or not key.strip():
            raise DoorProblem(401, "Send a token: Authorization: Bearer kitdesk_...")
        token = self.authenticate(request, key.strip())
        for name, values in request.GET.lists():
            sentence = ""
            if name not in self.parameters:
                sentence = "This operation knows no such parameter. Its description lists all."
            elif len(values) > 1 and name not in self.lists:
                sentence = "This parameter came twice. Send it once."
            if sentence:
                escaped = name[:40].replace("~", "~0").replace("/", "~1")
                raise DoorProblem(422, sentence, pointer=f"/query/{escaped}")
        return token

    def authenticate(self, request: HttpRequest, token: str) -> AccessToken:
        """The token of a secret."""
        known = token_with(token)
        if known is None:
            raise _wrong(request)
        if standing := standing_of(known, timezone.localdate()):
            raise DoorProblem(
                401, f"This token is {standing}. The owner of the desk makes another."
            )
        if self.scope not in known.scopes:
            raise DoorProblem(
                403,
                f"This token may not do that: it lacks the scope {self.scope}. The owner of the"
                " desk makes one that has it.",
            )
        # The trace of a use is not worth a refusal.
        with contextlib.suppress(OperationalError):
            note_token_used(known)
        return known


def token_of(request: HttpRequest) -> AccessToken:
    """The token that an operation was let in with; it acts under the name of its account."""
    token: AccessToken = request.auth  # type: ignore[attr-defined]
    return token


def _wrong(request: HttpRequest) -> DoorProblem:
    source = address_of(request)
    if WRONG_TOKENS.is_over(source):
        wait = WRONG_TOKENS.seconds - int(time.time()) % WRONG_TOKENS.seconds
        return DoorProblem(
            429, "Too many wrong tokens came from this address. Wait.", retry_after=max(wait, 1)
        )
    WRONG_TOKENS.count(source)
    return DoorProblem(401, "This desk knows no such token. Copy it anew, whole.")
