"""The secret of an access token: found by whoever looks for secrets, known when mistyped."""

import re

import pytest

from rentals.access_keys import is_key, key_digest, new_key, without_keys

pytestmark = pytest.mark.any_database


def test_a_key_is_long_marked_and_checks_itself():
    keys = {new_key() for _ in range(50)}
    assert len(keys) == 50
    for key in keys:
        assert re.fullmatch("kitdesk_[0-9A-Za-z]{38}", key) and is_key(key)
        other = "0" if key[10] != "0" else "1"
        assert not is_key(key[:10] + other + key[11:])
    assert not is_key("") and not is_key(f"{key}\n") and not is_key(key[8:])
    assert len(key_digest(key)) == 64 and key not in key_digest(key)


def test_a_key_is_not_written_to_a_log():
    key = new_key()
    assert key not in without_keys(f"Authorization: Bearer {key}, and so on")
