"""So many tries from one place, and no more."""

import pytest
from django.test import RequestFactory

from rentals.web.throttle import Throttle, address_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]


def test_each_source_has_its_own_tries():
    throttle = Throttle("door", most=3, seconds=10**10)
    for _ in range(5):
        throttle.count("here")
    throttle.count("there")
    assert throttle.is_over("here") and not throttle.is_over("there")
    assert not Throttle("window", most=3, seconds=10**10).is_over("here")


def test_a_new_window_begins_from_nothing(monkeypatch):
    throttle = Throttle("door", most=1, seconds=600)
    monkeypatch.setattr("rentals.web.throttle.time", lambda: 1000.0)
    throttle.count("here")
    assert throttle.is_over("here")
    monkeypatch.setattr("rentals.web.throttle.time", lambda: 1700.0)
    assert not throttle.is_over("here")


def test_the_address_is_the_visitors():
    request = RequestFactory().get("/", REMOTE_ADDR="192.0.2.9")
    assert address_of(request) == "192.0.2.9"
