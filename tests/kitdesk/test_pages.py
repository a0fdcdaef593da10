"""What every page has: a strict policy, safe headers, plain words when something is wrong."""

import pytest
from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.db import OperationalError
from django.http import HttpRequest
from django.test import Client, RequestFactory, override_settings
from django.urls import path

from kitdesk import urls as desk_urls
from kitdesk.context import desk
from kitdesk.roles.rules import EVERYBODY, RULES
from kitdesk.views import errors


def _raises(problem: type[Exception]):
    def view(request: HttpRequest):
        raise problem("told to nobody")

    view.login_required = False
    return view


urlpatterns = [
    *desk_urls.urlpatterns,
    path("odd/400", _raises(SuspiciousOperation), name="odd"),
    path("odd/403", _raises(PermissionDenied), name="odd"),
    path("odd/500", _raises(OperationalError), name="odd"),
]
handler400, handler403 = desk_urls.handler400, desk_urls.handler403
handler404, handler500 = desk_urls.handler404, desk_urls.handler500


def test_the_policy_allows_nothing_written_inline_and_nothing_from_elsewhere(owner):
    policy = Client().get("/account/login/").headers["Content-Security-Policy"]
    rules = {part.split()[0]: part.split()[1:] for part in policy.split("; ")}
    assert rules["default-src"] == ["'none'"]
    assert (
        rules["script-src"]
        == rules["style-src"]
        == rules["connect-src"]
        == rules["form-action"]
        == ["'self'"]
    )
    assert rules["frame-ancestors"] == rules["base-uri"] == rules["object-src"] == ["'none'"]
    assert "unsafe" not in policy


def test_a_page_holds_no_inline_script_or_style(owner):
    page = Client().get("/account/login/").content.decode()
    assert "<style" not in page and " style=" not in page and " onclick=" not in page
    scripts = page.split("<script")[1:]
    assert scripts and all(" src=" in script.split(">")[0] for script in scripts)


def test_the_other_safe_headers(owner):
    answer = Client().get("/account/login/")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert answer.cookies["csrftoken"]["samesite"] == "Lax"


@pytest.mark.parametrize(
    ("status", "heading"),
    [
        (400, "This could not be read"),
        (403, "Not for this account"),
        (500, "Something broke on our side"),
    ],
)
@override_settings(ROOT_URLCONF="tests.kitdesk.test_pages")
def test_errors_speak_plainly_and_tell_no_secrets(status, heading, owner, monkeypatch):
    monkeypatch.setitem(RULES, "odd", EVERYBODY)
    answer = Client(raise_request_exception=False).get(f"/odd/{status}")
    assert answer.status_code == status
    assert heading in answer.content.decode()
    assert "told to nobody" not in answer.content.decode()


def test_an_unknown_address_has_a_page(signed_in):
    answer = signed_in.get("/no/such/page")
    assert answer.status_code == 404
    assert "There is nothing at this address" in answer.content.decode()


def test_a_form_without_its_token_says_that_it_is_stale(owner):
    answer = Client(enforce_csrf_checks=True).post(
        "/account/login/", {"login": "a", "password": "b"}
    )
    assert answer.status_code == 403
    assert "This form has gone stale" in answer.content.decode()


def test_error_pages_need_no_database():
    # Without the db fixture any query would raise.
    for view, status in (
        (errors.bad_request, 400),
        (errors.page_not_found, 404),
        (errors.server_error, 500),
    ):
        assert view(RequestFactory().get("/")).status_code == status


def test_a_foreign_host_name_is_refused():
    assert (
        Client(raise_request_exception=False)
        .get("/health", headers={"host": "evil.example"})
        .status_code
        == 400
    )


def test_the_navigation_marks_one_screen_and_leaves_out_what_does_not_exist():
    screens = desk(RequestFactory().get("/bench/"))["nav"]
    assert [screen.url for screen in screens] == [*dict.fromkeys(screen.url for screen in screens)]
    assert sum(screen.current for screen in screens) <= 1
