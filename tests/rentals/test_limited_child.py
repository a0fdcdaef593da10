"""Messages between the desk and the process that opens files."""

from __future__ import annotations

import socket

import pytest

from rentals.limited_child import answer_to, packed, receive, send, unpacked

pytestmark = pytest.mark.any_database


def test_a_message_comes_as_it_was_sent_and_nothing_comes_of_one_that_breaks_off():
    ours, theirs = socket.socketpair()
    with theirs:
        with ours:
            send(ours, packed({"name": "a\nb"}, b"\n\0\n"))
            assert unpacked(receive(theirs, 1000, lambda: None)) == ({"name": "a\nb"}, b"\n\0\n")
            ours.sendall(b"\0\0\0\0\0\0\0\5abc")
        assert receive(theirs, 1000, lambda: None) == b""


def test_one_that_claims_to_be_huge_is_not_waited_for():
    ours, theirs = socket.socketpair()
    with ours, theirs:
        ours.sendall(b"\x7f" + b"\0" * 7)
        with pytest.raises(OSError, match="too long"):
            receive(theirs, 1000, lambda: None)


@pytest.mark.parametrize("message", [b"", b"[]\n", b"{}", b"{\n", b"[" * 99_999 + b"\n"])
def test_what_is_no_message_is_no_message(message):
    with pytest.raises(ValueError):
        unpacked(message)
    assert b'"failed"' in answer_to(message)
