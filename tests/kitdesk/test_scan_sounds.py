"""Sound and vibration are on until this browser switches them off."""

import pytest
from django.test import RequestFactory
from django.urls import reverse

from kitdesk.scan_sounds import signals_on

pytestmark = pytest.mark.django_db


def test_a_browser_signals_until_it_is_told_not_to():
    request = RequestFactory().get("/")
    assert signals_on(request)
    request.COOKIES["signals"] = "off"
    assert not signals_on(request)


def test_the_menu_switches_them_off_and_on_again(signed_in, client):
    assert " data-signals>" in signed_in.get("/").content.decode()
    answer = signed_in.post(reverse("signals"), {"signals": "off", "next": "/kits/"})
    assert answer.url == "/kits/"
    page = signed_in.get("/").content.decode()
    assert " data-signals>" not in page
    assert 'value="on" aria-pressed="false">Sound and vibration' in " ".join(page.split())
    signed_in.post(reverse("signals"), {"signals": "on"})
    assert " data-signals>" in signed_in.get("/").content.decode()
    assert " data-signals>" not in client.get(reverse("account_login")).content.decode()
