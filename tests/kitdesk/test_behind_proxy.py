"""The head of a request under any WSGI server: whose it is, and how much it may carry."""

import importlib
import io
import os

import pytest
from django.conf import settings
from django.core import signing
from django.urls import reverse

from kitdesk.behind_proxy import BehindProxy
from kitdesk.known_browsers import COOKIE, SALT

MIB = 1024 * 1024
pytestmark = pytest.mark.any_database


def _ask(proxy="192.0.2.1", path="/", **environ):
    """Status of the answer, and what the application behind got to see; None where nothing."""
    seen, statuses = {}, []

    def application(environ, start_response):
        seen.update(environ)
        start_response("200 OK", [])
        return []

    environ = {"PATH_INFO": path, "REMOTE_ADDR": "192.0.2.1", "wsgi.input": io.BytesIO()} | environ
    list(BehindProxy(application, proxy)(environ, lambda status, headers: statuses.append(status)))
    return statuses[0], seen or None


def test_the_visitors_address_stands_where_the_proxys_stood():
    _, seen = _ask(HTTP_X_FORWARDED_FOR="198.51.100.1, 203.0.113.9")
    assert seen["REMOTE_ADDR"] == "203.0.113.9"


@pytest.mark.parametrize("proxy", ["", "192.0.2.2"])
def test_headers_that_no_trusted_proxy_set_are_dropped(proxy):
    _, seen = _ask(proxy, HTTP_X_FORWARDED_FOR="203.0.113.9", HTTP_X_FORWARDED_PROTO="https")
    assert seen["REMOTE_ADDR"] == "192.0.2.1"
    assert not [name for name in seen if "FORWARDED" in name]


def test_a_body_that_is_too_large_is_refused_and_what_comes_of_it_read_away():
    body, login = io.BytesIO(bytes(2 * MIB)), reverse("account_login")
    status, seen = _ask(path=login, CONTENT_LENGTH=str(2 * MIB), **{"wsgi.input": body})
    assert status.startswith("413") and seen is None
    assert not body.read()
    body = io.BytesIO(bytes(20 * MIB))
    _ask(path=login, CONTENT_LENGTH=str(20 * MIB), **{"wsgi.input": body})
    assert body.read(1), "a stranger is listened to without end"


def test_a_day_at_the_bench_comes_through():
    known = f"{COOKIE}={signing.dumps([1, 'browser'], salt=SALT)}"
    upload = reverse("readiness:bench_upload")
    status, seen = _ask(path=upload, CONTENT_LENGTH=str(900 * MIB), HTTP_COOKIE=known)
    assert status == "200 OK" and seen is not None


def test_the_entry_for_servers_is_such_a_one(monkeypatch):
    monkeypatch.setattr(os, "umask", lambda mask: 0)
    entry = importlib.import_module(settings.WSGI_APPLICATION.rpartition(".")[0])
    assert isinstance(entry.application, BehindProxy)
