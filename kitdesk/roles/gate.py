"""Holds the table of rules: before a view runs, and over the page that it gives back."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from http import HTTPStatus
from typing import cast
from urllib.parse import urlsplit

from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.urls import Resolver404, ResolverMatch, get_resolver, resolve

from rentals.web.request import DeskRequest

from .role import DeskRole, Roles, in_words, roles_of
from .rules import RULES, Rule
from .screens import shown_to

LOOKING = ("GET", "HEAD", "OPTIONS")


class NotForThisRole(PermissionDenied):
    """Somebody asked for what is not theirs: says who may, and what the account is."""

    def __init__(self, rule: Rule | None, held: Roles, *, posting: bool) -> None:
        allowed = (rule.do if posting else rule.see) if rule else frozenset()
        self.who_may = in_words(allowed | {DeskRole.OWNER})
        self.held = in_words(held)
        super().__init__(f"Only for: {self.who_may}.")


class Allowed:
    """What the person behind a request may open and post to, by address."""

    def __init__(self, request: HttpRequest) -> None:
        self._request = request
        self._asked: tuple[object, Roles] = (None, frozenset())

    def __call__(self, address: str) -> bool:
        """Whether the page at an address of this desk may be opened."""
        return self.lets(address, posting=False)

    def lets(self, address: str, *, posting: bool) -> bool:
        """The same, or whether a form may be sent there. What is no page of the desk is free."""
        roles = self._roles()
        if DeskRole.OWNER in roles:
            return True
        parts = urlsplit(address)
        if parts.scheme or parts.netloc or not parts.path.startswith("/"):
            return True
        rule = _rule_at(parts.path)
        return rule is None or rule.lets(roles, posting=posting)

    def _roles(self) -> Roles:
        """Those of who is there now: a page asks hundreds of times, and may sign somebody in."""
        user = self._request.user
        if self._asked[0] is not user:
            self._asked = (user, roles_of(user))
        return self._asked[1]


def request_of(person: User, address: str) -> DeskRequest:
    """The request of somebody who opens an address of this desk, for what is done for them when
    they are not there. What they may is what their roles say now.
    """
    request, parts = DeskRequest(), urlsplit(address)
    request.method, request.path, request.path_info = "GET", parts.path, parts.path
    request.GET, request.user = QueryDict(parts.query), person
    request.may = Allowed(request)
    return request


@lru_cache(maxsize=10_000)
def _rule_at(path: str) -> Rule | None:
    try:
        return rule_of(resolve(path))
    except Resolver404:
        return None


def rule_of(match: ResolverMatch) -> Rule | None:
    """The rule of a page; None where nobody wrote one."""
    return RULES.get(match.view_name)


class RolesMiddleware:
    """Refuses what the table does not allow, before anything is read or written; hangs `may` on the
    request; takes from the page whatever leads to a refusal.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        may = Allowed(request)
        request.may = may  # type: ignore[attr-defined]
        response = self.get_response(request)
        if _is_page(response) and _is_bounded(request):
            page = shown_to(response.content.decode(), request.path, may.lets)
            response.content = page.encode()
        return response

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: tuple[object, ...],
        kwargs: dict[str, str],
    ) -> HttpResponse | None:
        """The page that says who may, where the table says no; else None, to go on."""
        assert request.resolver_match is not None
        rule = rule_of(request.resolver_match)
        if rule is not None and rule.everybody:
            return None
        held = roles_of(request.user)
        posting = request.method not in LOOKING
        if rule is not None and rule.lets(held, posting=posting):
            return None
        refusal = NotForThisRole(rule, held, posting=posting)
        page = get_resolver().resolve_error_handler(HTTPStatus.FORBIDDEN)
        return cast(Callable[..., HttpResponse], page)(request, refusal)


def _is_page(response: HttpResponse) -> bool:
    kind = response.headers.get("Content-Type", "")
    return not response.streaming and kind.startswith("text/html")


def _is_bounded(request: HttpRequest) -> bool:
    """Whether somebody is signed in for whom not every page is."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return False
    return DeskRole.OWNER not in roles_of(user)
