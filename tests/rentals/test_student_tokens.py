"""Tokens of students' pages: worked out, marked in stored texts, masked in logs."""

from rentals.student_tokens import (
    MARKER,
    has_marker,
    marked_address,
    new_nonce,
    page_address,
    token_digest,
    token_of,
    with_token,
    without_tokens,
)

SITE = "https://desk.example"


def test_a_token_follows_from_key_loan_and_nonce():
    nonce = new_nonce()
    token = token_of(b"key", 7, nonce)
    assert token == token_of(b"key", 7, nonce) and len(token) == 43
    others = {token_of(b"yek", 7, nonce), token_of(b"key", 8, nonce)}
    others |= {token_of(b"key", 7, new_nonce())}
    assert token not in others and len(others) == 3
    assert token_digest(token) != token


def test_a_stored_text_holds_the_marker_until_it_leaves():
    stored = f"Look here: {marked_address(SITE + '/')} or there."
    assert has_marker(stored) and MARKER in stored
    sent = with_token(stored, "abc")
    assert sent == f"Look here: {page_address(SITE, 'abc')} or there."
    assert not has_marker(sent)


def test_no_log_shows_a_token():
    line = 'GET /my-kit/AbC_-1/help/ 404 in "https://desk.example/my-kit/xyz"'
    masked = without_tokens(line)
    assert "AbC" not in masked and "xyz" not in masked
    assert f"/my-kit/{MARKER}/help/ 404" in masked
    assert without_tokens("/kits/K0001O/") == "/kits/K0001O/"
