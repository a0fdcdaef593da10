"""A server of raw sockets that breaks off in the middle of a mail, talks nonsense or closes idle
lines.
"""

from __future__ import annotations

import socket
import struct
import threading
from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.claim_mail import FIRST_WAIT
from rentals.actions.send import send_due_mails
from rentals.models import Attachment, Message
from tests.rentals.letters import approved, mail_to, states, steps

pytestmark = pytest.mark.django_db(transaction=True)
A, B = "ada@strings.example", "ben@strings.example"
END = b"\r\n.\r\n"


class RawServer:
    """Speaks just enough SMTP; `spoil` is asked at each mail, by its number, what to do with it."""

    def __init__(self, spoil: Callable[[int], str]) -> None:
        self.spoil, self.mails, self.whole, self.lines = spoil, 0, [], 0
        self.tired = False  # says 421 to the second mail on its first line
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = self._listening.getsockname()[1]
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        self._listening.close()

    def _serve(self) -> None:
        while True:
            try:
                client, _ = self._listening.accept()
            except OSError:
                return
            self.lines += 1
            with client:
                try:
                    self._talk(client)
                except OSError:
                    continue

    def _talk(self, client: socket.socket) -> None:
        client.settimeout(20)
        client.sendall(b"220 raw\r\n")
        with client.makefile("rb") as reading:
            while command := reading.readline():
                if command.upper().startswith(b"DATA"):
                    client.sendall(b"354 go on\r\n")
                    if not self._take(client, reading):
                        return
                elif (
                    command.upper().startswith(b"MAIL")
                    and self.tired
                    and self.whole
                    and self.lines == 1
                ):
                    client.sendall(b"421 enough for one line\r\n")
                    return
                elif command.upper().startswith(b"QUIT"):
                    client.sendall(b"221 bye\r\n")
                    return
                else:
                    client.sendall(b"250 fine\r\n")

    def _take(self, client: socket.socket, reading) -> bool:
        self.mails += 1
        what = self.spoil(self.mails)
        if what == "break off":
            reading.read(20_000)
            # A reset instead of a goodbye, as when a cable is pulled.
            client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            return False
        mail = bytearray()
        while not mail.endswith(END):
            mail += reading.readline()
        self.whole.append(bytes(mail))
        client.sendall(b"what was that\r\n" if what == "nonsense" else b"250 taken\r\n")
        return what != "hang up"


@pytest.fixture
def raw_server(settings) -> Iterator[Callable[[Callable[[int], str]], RawServer]]:
    """Starts the server and points the mail settings at it."""
    started = []

    def start(spoil: Callable[[int], str]) -> RawServer:
        server = RawServer(spoil)
        started.append(server)
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = (
            "127.0.0.1",
            server.port,
            10,
        )
        settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
        return server

    yield start
    for server in started:
        server.close()


def _heavy(address: str) -> Message:
    """A mail that is larger than all buffers between here and the server."""
    mail = mail_to(address)
    Attachment.objects.create(
        message=mail, file_name="scan.pdf", content=bytes(range(256)) * 40_000
    )
    Message.objects.filter(pk=mail.pk).update(state="approved")
    return mail


def test_a_mail_cut_off_in_the_middle_is_sent_again_whole(raw_server):
    server = raw_server(lambda number: "break off" if number == 1 else "")
    mail = _heavy(A)
    send_due_mails()
    assert states() == {A: "queued"}
    assert "broke before the mail was handed over" in steps(mail)[-1]
    assert server.whole == []
    send_due_mails(now=timezone.now() + FIRST_WAIT)
    assert states() == {A: "sent"}
    assert len(server.whole) == 1


def test_a_line_that_broke_takes_only_its_own_mail_along(raw_server):
    server = raw_server(lambda number: "break off" if number == 1 else "")
    _heavy(A)
    approved(B)
    send_due_mails()
    assert states() == {A: "queued", B: "sent"}
    assert server.lines == 2


def test_an_answer_that_is_none_leaves_the_mail_uncertain(raw_server):
    server = raw_server(lambda number: "nonsense")
    approved(A)
    send_due_mails()
    assert states() == {A: "uncertain"}
    send_due_mails(now=timezone.now() + timedelta(days=2))
    assert server.mails == 1


def test_a_server_that_hangs_up_after_each_mail_gets_a_fresh_line_without_costing_a_try(raw_server):
    server = raw_server(lambda number: "hang up")
    approved(A, B)
    send_due_mails()
    assert states() == {A: "sent", B: "sent"}
    assert set(Message.objects.values_list("attempts", flat=True)) == {1}
    assert (server.lines, len(server.whole)) == (2, 2)


def test_a_server_that_closes_its_line_with_421_gets_a_fresh_one_without_costing_a_try(raw_server):
    server = raw_server(lambda number: "")
    server.tired = True
    approved(A, B)
    send_due_mails()
    assert states() == {A: "sent", B: "sent"}
    assert set(Message.objects.values_list("attempts", flat=True)) == {1}
    assert server.lines == 2


def test_two_mails_share_one_line(raw_server):
    server = raw_server(lambda number: "")
    approved(A, B)
    send_due_mails()
    assert (server.lines, len(server.whole)) == (1, 2)


def test_a_port_that_speaks_no_smtp_is_no_server(settings, raw_server):
    server = raw_server(lambda number: "")
    settings.EMAIL_USE_TLS = True  # the server knows no STARTTLS
    (mail,) = approved(A)
    send_due_mails()
    mail.refresh_from_db()
    assert (mail.state, mail.attempts, server.mails) == ("queued", 0, 0)
    assert f"127.0.0.1:{server.port}" in mail.last_error
