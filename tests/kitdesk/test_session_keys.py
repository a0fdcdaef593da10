"""The key of a session, and the names of what is downloaded."""

from urllib.parse import quote

import pytest
from django.test import Client
from django.urls import reverse

from readiness.actions.upload import store_upload
from tests.conftest import OWNER_NAME, OWNER_PASSWORD
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def test_a_session_has_a_new_key_after_signing_in_and_none_after_signing_out(owner, clean_cache):
    client = Client()
    before = client.session
    before["theme"] = "x"
    before.save()
    client.cookies["sessionid"] = before.session_key
    client.post(reverse("account_login"), {"login": OWNER_NAME, "password": OWNER_PASSWORD})
    key = client.cookies["sessionid"].value
    # 32 characters of 36: 165 bits.
    assert key != before.session_key and len(key) == 32
    client.post(reverse("account_logout"))
    for ended in (key, before.session_key):
        client.cookies["sessionid"] = ended
        assert client.get(reverse("keys")).status_code == 302


def test_a_download_is_named_by_the_desk_and_never_breaks_its_header(signed_in):
    name = 'Zoë "Q"; still\u2028a.csv'
    data = capture_bytes("still", kit=complete_kit(cleared=False).code)
    capture = store_upload([capture_file("a.csv", data)]).captures.get()
    type(capture).objects.update(name=name)
    answer = signed_in.get(reverse("readiness:capture_file", args=[capture.pk]))
    answer.close()
    named = answer["Content-Disposition"]
    # The name goes along encoded, and nothing of it stands as it was typed.
    assert named == f"attachment; filename*=utf-8''{quote(name)}"
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["X-Content-Type-Options"] == "nosniff"
