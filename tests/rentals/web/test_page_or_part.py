"""A whole page, its one part, or the way to another page: told apart by what asked."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory
from django_htmx.middleware import HtmxMiddleware

from rentals.web.page_or_part import go_to, vary_by_htmx, wants_part
from rentals.web.request import DeskRequest


def asked_by(**headers: str) -> DeskRequest:
    request = RequestFactory().get("/", headers=headers)
    HtmxMiddleware(lambda _: HttpResponse())(request)
    return request


@pytest.mark.parametrize(
    ("headers", "part"),
    [
        ({}, False),
        ({"HX-Request": "true"}, True),
        ({"HX-Request": "true", "HX-History-Restore-Request": "true"}, False),
    ],
)
def test_a_part_is_for_htmx_but_not_for_the_way_back(headers, part):
    assert wants_part(asked_by(**headers)) is part


def test_caches_are_told_that_the_answer_depends_on_who_asks():
    assert vary_by_htmx(HttpResponse())["Vary"] == "HX-Request"


def test_htmx_is_led_to_a_page_of_its_own():
    led = go_to(asked_by(**{"HX-Request": "true"}), "/kits/")
    assert (led.status_code, led["HX-Redirect"]) == (200, "/kits/")
    redirected = go_to(asked_by(), "/kits/")
    assert (redirected.status_code, redirected["Location"]) == (302, "/kits/")
