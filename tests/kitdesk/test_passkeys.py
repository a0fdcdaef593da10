"""Passkeys, held by a small authenticator of the test's own: it signs as a real one does."""

from __future__ import annotations

import json
import re
import secrets

import pytest
from allauth.mfa.models import Authenticator
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from django.test import Client
from django.urls import reverse
from fido2.cose import ES256
from fido2.utils import sha256, websafe_decode, websafe_encode
from fido2.webauthn import (
    AttestationObject,
    AttestedCredentialData,
    AuthenticatorData,
    CollectedClientData,
)

from tests.conftest import OWNER_NAME, OWNER_PASSWORD

pytestmark = pytest.mark.django_db
HOST = "desk.example.org"
F = AuthenticatorData.FLAG
SEEN = F.UP | F.UV


class Device:
    """One credential in a device, for one site."""

    def __init__(self, origin: str = f"https://{HOST}") -> None:
        self.origin = origin
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.name = secrets.token_bytes(16)
        self.user = b""

    def made(self, options: dict) -> str:
        """The answer to the options of a page that adds a passkey."""
        self.user = websafe_decode(options["user"]["id"])
        public = ES256.from_cryptography_key(self.key.public_key())
        credential = AttestedCredentialData.create(bytes(16), self.name, public)
        data = AuthenticatorData.create(sha256(HOST.encode()), SEEN | F.AT, 0, credential)
        stated = AttestationObject.create("none", data, {})
        answer = {"attestationObject": websafe_encode(bytes(stated))}
        return self._answer("webauthn.create", options, answer)

    def used(self, options: dict) -> str:
        """The answer to the options of a page that asks for a passkey."""
        data = AuthenticatorData.create(sha256(HOST.encode()), SEEN, 1)
        said = self._said("webauthn.get", options)
        signature = self.key.sign(data + said.hash, ec.ECDSA(SHA256()))
        answer = {
            "authenticatorData": websafe_encode(data),
            "signature": websafe_encode(signature),
            "userHandle": websafe_encode(self.user),
        }
        return self._answer("webauthn.get", options, answer)

    def _said(self, kind: str, options: dict) -> CollectedClientData:
        return CollectedClientData.create(
            type=kind, challenge=options["challenge"], origin=self.origin
        )

    def _answer(self, kind: str, options: dict, answer: dict) -> str:
        name = websafe_encode(self.name)
        answer["clientDataJSON"] = websafe_encode(bytes(self._said(kind, options)))
        return json.dumps(
            {
                "id": name,
                "rawId": name,
                "type": "public-key",
                "response": answer,
                "clientExtensionResults": {"credProps": {"rk": True}},
            }
        )


@pytest.fixture(autouse=True)
def behind_tls(settings) -> None:
    settings.ALLOWED_HOSTS = [HOST]
    settings.KITDESK_PASSKEYS = True


def _client() -> Client:
    return Client(headers={"host": HOST})


def _by_password(client: Client):
    words = {"login": OWNER_NAME, "password": OWNER_PASSWORD}
    return client.post(reverse("account_login"), words, secure=True)


def _confirm(client: Client) -> None:
    """The password once more, which a change of the sign-in asks for."""
    words = {"password": OWNER_PASSWORD}
    client.post(reverse("account_reauthenticate"), words, secure=True)


def _options(page, name: str) -> dict:
    found = re.search(r'id="passkey-options"[^>]*>(.*?)</script>', page.content.decode(), re.S)
    return json.loads(found[1])[name]["publicKey"]


def _add(client: Client, device: Device):
    address = reverse("mfa_add_webauthn")
    credential = device.made(_options(client.get(address, secure=True), "creation_options"))
    words = {"name": "Desk phone", "passwordless": "on", "credential": credential}
    return client.post(address, words, secure=True)


@pytest.fixture
def device(owner, clean_cache) -> Device:
    """A device with a passkey of the owner."""
    client, device = _client(), Device()
    _by_password(client)
    _confirm(client)
    answer = _add(client, device)
    assert answer.headers["Location"] == reverse("mfa_view_recovery_codes")
    return device


def _by_passkey(device: Device) -> Client:
    client, address = _client(), reverse("mfa_login_webauthn")
    asked = client.get(address, headers={"accept": "application/json"}, secure=True).json()
    credential = device.used(asked["request_options"]["publicKey"])
    client.post(address, {"credential": credential}, secure=True)
    return client


def _is_in(client: Client) -> bool:
    return client.get(reverse("keys"), secure=True).status_code == 200


def test_a_passkey_alone_signs_in_also_while_the_password_has_to_wait(device):
    wrong = {"login": OWNER_NAME, "password": "x"}
    for _ in range(6):
        _client().post(reverse("account_login"), wrong, secure=True)
    client = _client()
    assert "Too many wrong tries" in _by_password(client).content.decode()
    assert _is_in(_by_passkey(device))


def test_another_device_another_site_and_no_passkey_at_all_are_refused(device):
    stranger, elsewhere = Device(), Device("https://desk.example.com")
    stranger.name, stranger.user = device.name, device.user
    elsewhere.key, elsewhere.name, elsewhere.user = device.key, device.name, device.user
    assert [_is_in(_by_passkey(one)) for one in (stranger, elsewhere)] == [False, False]
    client, within = _client(), _by_passkey(device)
    _confirm(within)
    for nonsense in ("", "null", "{}", '{"id": 1}', "[]", '{"id": "AA", "rawId": "AA"}'):
        words = {"credential": nonsense}
        answer = client.post(reverse("mfa_login_webauthn"), words, secure=True)
        assert answer.status_code == 302 and not _is_in(client)
        answer = within.post(reverse("mfa_add_webauthn"), words, secure=True)
        assert answer.status_code == 200 and Authenticator.objects.count() == 2


def test_a_passkey_is_the_second_step_and_confirms_a_change(device):
    client = _client()
    assert _by_password(client).headers["Location"].startswith(reverse("mfa_authenticate"))
    assert not _is_in(client)
    page = client.get(reverse("mfa_authenticate"), secure=True)
    credential = device.used(_options(page, "request_options"))
    client.post(reverse("mfa_authenticate"), {"credential": credential}, secure=True)
    assert _is_in(client)
    page = client.get(reverse("mfa_reauthenticate_webauthn"), secure=True)
    assert "With the password instead" in page.content.decode()


def test_a_passkey_is_listed_and_removed(device):
    client = _by_passkey(device)
    _confirm(client)
    listed = client.get(reverse("mfa_list_webauthn"), secure=True).content.decode()
    assert "Desk phone" in listed and "just now" in listed
    address = reverse("mfa_remove_webauthn", args=[Authenticator.objects.get(type="webauthn").pk])
    assert "opens this desk no more" in client.get(address, secure=True).content.decode()
    client.post(address, secure=True)
    assert not Authenticator.objects.exists()
    assert not _is_in(_by_passkey(device))


def test_passkeys_are_offered_only_where_tls_is(owner, settings, clean_cache):
    client = _client()
    assert "a passkey" in client.get(reverse("account_login"), secure=True).content.decode()
    _by_password(client)
    assert "Add a passkey" in client.get(reverse("mfa_index"), secure=True).content.decode()
    settings.KITDESK_PASSKEYS = False
    assert "a passkey" not in _client().get(reverse("account_login")).content.decode()
    _confirm(client)
    assert "Add a passkey" not in client.get(reverse("mfa_index"), secure=True).content.decode()
    device = Device(f"http://{HOST}")
    assert _add(client, device).status_code == 200
    assert not Authenticator.objects.exists()
