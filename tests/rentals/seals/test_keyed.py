"""Codes under a key are those of Python's own HMAC."""

import hmac

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.seals.keyed import coder


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(key=st.binary(max_size=200), texts=st.lists(st.binary(max_size=300), max_size=3))
def test_each_text_gets_its_own_code(key, texts):
    code = coder(key)
    for text in texts:
        assert code(text) == hmac.digest(key, text, "sha256").hex()
