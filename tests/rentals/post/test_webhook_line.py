"""One call over HTTP: to public places alone, along no hint, and never for long."""

import socket

import pytest

from rentals.post import webhook_line
from rentals.post.webhook_line import call, may_be_called
from tests.webhook_receiver import running_receiver

pytestmark = pytest.mark.any_database
LOOPBACK = ["127.0.0.0/8"]
NOT_PUBLIC = "The address is in a network that is not public, so it was not called."


@pytest.fixture
def receiver():
    with running_receiver() as running:
        yield running


@pytest.mark.parametrize(
    ("status", "words"),
    [(200, "Taken."), (204, "Taken."), (500, "Refused."), (410, "Refused.")],
)
def test_the_answer_is_told(receiver, status, words):
    receiver.statuses = [status]
    answer = call(f"{receiver.address}/a?b=c", "{}", {"webhook-id": "1"}, private=LOOPBACK)
    assert answer.status == status and words in answer.words
    assert answer.is_taken is (status < 300)
    assert receiver.paths == ["/a?b=c"] and receiver.bodies == ["{}"]
    assert receiver.heads[0]["webhook-id"] == "1"


def test_a_redirect_is_not_followed(receiver):
    receiver.statuses = [302]
    answer = call(receiver.address, "{}", {}, private=LOOPBACK)
    assert answer.status == 302 and not answer.is_taken
    assert receiver.paths == ["/"]


def test_one_that_hangs_or_hangs_up_is_left(receiver, monkeypatch):
    monkeypatch.setattr(webhook_line, "STEP_S", 0.1)
    receiver.statuses = [-1, 0]
    hung = call(receiver.address, "{}", {}, private=LOOPBACK)
    assert hung.status is None and "No answer" in hung.words
    left = call(receiver.address, "{}", {}, private=LOOPBACK)
    assert left.status is None and left.words.startswith("No ")


def test_one_that_is_slow_for_ever_is_left(receiver, monkeypatch):
    monkeypatch.setattr(webhook_line, "WHOLE_S", 0.1)
    receiver.statuses = [-1]
    assert call(receiver.address, "{}", {}, private=LOOPBACK).status is None


def test_without_a_listener_or_without_tls_that_is_said(receiver):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    assert "refused" in call(f"http://127.0.0.1:{port}", "{}", {}, private=LOOPBACK).words
    plain = receiver.address.replace("http:", "https:")
    assert "No safe line" in call(plain, "{}", {}, private=LOOPBACK).words
    assert receiver.paths == []


@pytest.mark.parametrize("host", ["127.0.0.1", "[::1]", "10.1.2.3", "169.254.169.254", "0.0.0.0"])
def test_the_desks_own_network_is_not_called(receiver, host):
    port = receiver.address.rpartition(":")[2]
    assert call(f"http://{host}:{port}/", "{}", {}).words == NOT_PUBLIC
    assert receiver.paths == []


def test_the_address_that_was_checked_is_the_one_that_is_called(receiver, monkeypatch):
    asked = []

    def looked_up(host: str, port: int, **facts: object) -> list[tuple[object, ...]]:
        asked.append(host)
        found = "127.0.0.1" if len(asked) == 1 else "10.0.0.1"
        return [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (found, port))]

    port = receiver.address.rpartition(":")[2]
    line = socket.create_connection
    monkeypatch.setattr(webhook_line.socket, "getaddrinfo", looked_up)
    called = []

    def connect(address: tuple[str, int], timeout: float) -> socket.socket:
        called.append(address)
        monkeypatch.undo()
        return line(address, timeout)

    monkeypatch.setattr(webhook_line.socket, "create_connection", connect)
    answer = call(f"http://course.example.org:{port}/", "{}", {}, private=LOOPBACK)
    assert answer.is_taken and asked == ["course.example.org"]
    assert called == [("127.0.0.1", int(port))]


@pytest.mark.parametrize(
    ("found", "may"),
    [
        ("203.0.114.1", True),
        ("2a00:1450::1", True),
        ("192.168.1.1", False),
        ("100.64.0.1", False),
        ("::ffff:127.0.0.1", False),
        ("::ffff:10.0.0.1", False),
        ("fe80::1%eth0", False),
        ("fc00::1", False),
        ("224.0.0.1", False),
        ("64:ff9b::7f00:1", False),
        ("2002:7f00:1::", False),
    ],
)
def test_which_addresses_are_public(found, may):
    assert may_be_called(found, []) is may


def test_a_named_network_may_be_called():
    assert may_be_called("10.1.2.3", ["10.1.0.0/16"])
    assert not may_be_called("10.2.2.3", ["10.1.0.0/16", "nonsense"])
    assert may_be_called("::ffff:10.1.2.3", ["10.1.0.0/16", "fc00::/7"])
