"""Every address of the desk has a rule, and nobody gets past it."""

import re
from collections.abc import Iterator

import pytest
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.models import AnonymousUser, User
from django.http import HttpResponse
from django.test import RequestFactory
from django.urls import ResolverMatch, get_resolver, resolve

from kitdesk.roles.gate import RolesMiddleware
from kitdesk.roles.role import DeskRole
from kitdesk.roles.rules import BENCH, PACKER, RULES
from tests.test_hostile_requests import routes

pytestmark = pytest.mark.any_database

GATE = RolesMiddleware(lambda request: HttpResponse())
SIGN_IN = LoginRequiredMiddleware(lambda request: HttpResponse())
PLACES = {"row": "1", "str": "x", "slug": "still", "path": "x"}
#: What each role may open (+) and may not (-), and post to (*) and may not (!).
EXPECTED = {
    DeskRole.PACKER: (
        "+students/ +loans/1/ +money/ +pack/x/ *pack/x/close/ *loans/1/settle/ *messages/approve/"
        " +bench/ !bench/upload/ !bench/kits/x/clear/ -people/ -setup/mail/ -backups/"
        " !kits/x/retire/ !students/1/erase/ !bench/plans/1/ !setup/practice/ !setup/reminders/new/"
        " !pack/x/override/"
    ),
    DeskRole.BENCH: (
        "+kits/ +kits/x/ *bench/upload/ *bench/kits/x/clear/ *kits/x/swap/x/ +reports/fleet/"
        " -students/ -students/1/ -loans/1/ -money/ -pack/ -runs/1/ -messages/ -reports/costs/"
        " -setup/calendar/ !pack/x/close/ !bench/plans/1/ -bench/plans/1/ -people/"
    ),
    DeskRole.READER: (
        "+kits/ +students/ +loans/1/ +money/ +messages/ +reports/costs/ +runs/1/ +bench/kits/x/"
        " -people/ -kits/new/ -pack/x/ !kits/x/note/ !loans/1/settle/ !messages/approve/"
        " !bench/upload/ !runs/new/"
    ),
}


def _addresses() -> Iterator[tuple[str, ResolverMatch]]:
    for route in routes(get_resolver()):
        path = "/" + re.sub(r"<(\w+):\w+>", lambda place: PLACES[place[1]], route)
        yield path, resolve(path)


ADDRESSES = dict(_addresses())


def _account(*roles: DeskRole) -> User:
    account = User(username="somebody", is_superuser=DeskRole.OWNER in roles)
    account._roles = frozenset(roles)
    return account


def _passes(path: str, method: str, who: User | AnonymousUser) -> bool:
    request = RequestFactory().generic(method, path)
    request.user, match = who, ADDRESSES[path]
    request.resolver_match = match
    call = (request, match.func, match.args, match.kwargs)
    return SIGN_IN.process_view(*call) is None and GATE.process_view(*call) is None


def test_every_address_has_a_rule_and_every_rule_an_address():
    names = {match.view_name for match in ADDRESSES.values()}
    assert names - set(RULES) == set(), "new pages without a rule in kitdesk/roles/rules.py"
    assert set(RULES) - names == set()


@pytest.mark.parametrize("role", [None, *DeskRole])
def test_every_address_lets_in_whom_its_rule_names_and_nobody_else(role):
    who = _account(*filter(None, [role]))
    for path, match in ADDRESSES.items():
        rule = RULES[match.view_name]
        shell = rule.everybody or rule.signed_in
        for method, allowed in (("GET", rule.see), ("HEAD", rule.see), ("POST", rule.do)):
            expected = shell or role is DeskRole.OWNER or role in allowed
            assert _passes(path, method, who) == expected, f"{role} {method} {path}"
        assert _passes(path, "DELETE", who) == _passes(path, "POST", who)


def test_nobody_comes_to_a_page_that_is_not_open_to_everybody():
    for path, match in ADDRESSES.items():
        # Signing out somebody who is not signed in is the library's own redirect.
        if RULES[match.view_name].everybody or match.view_name.startswith(("account_", "mfa_")):
            continue
        assert not _passes(path, "GET", AnonymousUser()), path
        assert not _passes(path, "POST", AnonymousUser()), path


@pytest.mark.parametrize("role", EXPECTED)
def test_the_roles_are_what_people_take_them_for(role):
    who, wrong = _account(role), []
    for place in EXPECTED[role].split():
        sign, path = place[0], "/" + place[1:]
        if _passes(path, "GET" if sign in "+-" else "POST", who) != (sign in "+*"):
            wrong.append(place)
    assert wrong == []


def test_whoever_holds_two_roles_may_do_what_either_may():
    who = _account(DeskRole.PACKER, DeskRole.BENCH)
    for path, match in ADDRESSES.items():
        lets = RULES[match.view_name].lets
        either = lets(PACKER, posting=True) or lets(BENCH, posting=True)
        assert _passes(path, "POST", who) == either, path


def test_a_page_without_a_rule_is_refused_even_to_the_owner(monkeypatch):
    monkeypatch.delitem(RULES, "rentals:kits")
    assert not _passes("/kits/", "GET", _account(DeskRole.OWNER))
