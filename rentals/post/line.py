"""The line to the mail server, and what became of one mail on it.

SMTP tells three things apart that matter here: the server took the mail; it did not, and said so
(now or for good); or the line broke. If it broke before the mail's last line was on its way, nobody
has it. If it broke after that, while the server's answer was awaited, nobody can know. `smtplib`
raises the same error for both, so its `data` is watched.
"""

from __future__ import annotations

import smtplib
import socket
import ssl
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends import smtp

if TYPE_CHECKING:
    from typing_extensions import Buffer

#: How many times the usual time-out the answer to a whole mail may take.
PATIENCE = 30
LONGEST_ANSWER = 400


class Fate(StrEnum):
    """What became of one mail."""

    TAKEN = "taken"
    LATER = "later"
    REFUSED = "refused"
    UNKNOWN = "unknown"
    NO_SERVER = "no server"


@dataclass(frozen=True)
class Delivery:
    """The fate of a mail, with the server's sentence, and the file it was written to where there is
    no server.
    """

    fate: Fate
    answer: str = ""
    written_to: str = ""


class _WatchedSMTP(smtplib.SMTP):
    """The library's SMTP; it also knows whether the whole mail has been handed to the network."""

    handed_over = False

    def data(self, msg: Buffer | str) -> tuple[int, bytes]:
        self.handed_over = False
        answer = super().data(msg)
        if self.sock and isinstance(self.timeout, int | float):
            self.sock.settimeout(self.timeout)
        return answer

    def send(self, s: Buffer | str) -> None:
        super().send(s)
        text = s.encode("ascii", "replace") if isinstance(s, str) else bytes(s)
        if text.endswith(b"\r\n.\r\n"):
            self.handed_over = True
            # A server may look through the mail before it answers: RFC 5321 section 4.5.3.2.6 asks
            # for ten minutes of patience, where the usual EMAIL_TIMEOUT of 20 s gives just that.
            if self.sock and isinstance(self.timeout, int | float):
                self.sock.settimeout(PATIENCE * self.timeout)


class _WatchedSMTPSSL(_WatchedSMTP, smtplib.SMTP_SSL):
    """The same over TLS from the start."""


class _WatchedBackend(smtp.EmailBackend):
    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        return _WatchedSMTPSSL if self.use_ssl else _WatchedSMTP


class MailLine:
    """One connection that carries mail after mail; opened when the first is sent, opened anew after
    it broke.
    """

    def __init__(self) -> None:
        plain = get_connection()
        self._backend = _WatchedBackend() if type(plain) is smtp.EmailBackend else plain
        self._carried = 0

    def close(self) -> None:
        """Say goodbye; a server that has gone already is not missed."""
        try:
            self._backend.close()
        except (OSError, smtplib.SMTPException):
            self._forget()
        self._carried = 0

    def send(self, mail: EmailMultiAlternatives) -> Delivery:
        """Hand over one mail to its one recipient. Never raises for what the server or the network
        does.

        A line that carried mail before may have been closed by the server meanwhile; then a fresh
        one is tried once.
        """
        used = self._carried > 0
        delivery = self._try(mail)
        if used and delivery.fate is Fate.LATER and self._broken:
            delivery = self._try(mail)
        return delivery

    def _try(self, mail: EmailMultiAlternatives) -> Delivery:
        self._broken = False
        try:
            self._backend.open()
        except (OSError, smtplib.SMTPException) as problem:
            self._forget()
            return Delivery(Fate.NO_SERVER, _no_server(problem))
        connection = getattr(self._backend, "connection", None)
        if isinstance(connection, _WatchedSMTP):
            connection.handed_over = False  # of this mail, not of the one before it
        try:
            self._backend.send_messages([mail])
        except (OSError, smtplib.SMTPException) as problem:
            delivery = self._judged(problem)
            answered = isinstance(
                problem, smtplib.SMTPResponseException | smtplib.SMTPRecipientsRefused
            )
            # 421: the server closes the line (RFC 5321 section 3.8), which says nothing of this
            # mail.
            self._broken = not answered or getattr(problem, "smtp_code", 0) == 421
            self._forget()
            return delivery
        except ValueError as problem:
            # Django's own checks of addresses and headers, before anything is said to the server.
            return Delivery(Fate.REFUSED, f"The mail cannot be addressed: {problem}")
        self._carried += 1
        return Delivery(Fate.TAKEN, written_to=getattr(mail, "eml_path", ""))

    def _judged(self, problem: Exception) -> Delivery:
        if isinstance(problem, smtplib.SMTPRecipientsRefused):
            code, words = next(iter(problem.recipients.values()))
            return _answered(code, words)
        if isinstance(problem, smtplib.SMTPResponseException):
            if 400 <= problem.smtp_code < 600:
                return _answered(problem.smtp_code, problem.smtp_error)
            return self._broken_off()
        if isinstance(problem, smtplib.SMTPNotSupportedError):
            return Delivery(Fate.REFUSED, f"The mail server cannot carry it: {problem}")
        if not isinstance(self._backend, smtp.EmailBackend):
            return Delivery(Fate.LATER, f"The mail could not be written: {problem}")
        return self._broken_off()

    def _broken_off(self) -> Delivery:
        connection = getattr(self._backend, "connection", None)
        if connection is not None and getattr(connection, "handed_over", False):
            sentence = (
                "The line broke after the whole mail was handed over and before the server"
                " answered."
            )
            return Delivery(Fate.UNKNOWN, sentence)
        return Delivery(
            Fate.LATER, "The line to the mail server broke before the mail was handed over."
        )

    def _forget(self) -> None:
        """Drop the connection without a word: after a failure its state is not known."""
        connection = getattr(self._backend, "connection", None)
        if connection is not None and isinstance(self._backend, smtp.EmailBackend):
            connection.close()
            self._backend.connection = None
        self._carried = 0


def _answered(code: int, words: bytes | str) -> Delivery:
    text = words.decode("utf-8", "replace") if isinstance(words, bytes) else str(words)
    answer = f"{code} {' '.join(text.split())}"[:LONGEST_ANSWER]
    # RFC 5321 section 4.2.1: 4yz is a transient refusal, 5yz a permanent one. 421: the server is
    # closing the line.
    fate = Fate.LATER if 400 <= code < 500 else Fate.REFUSED
    return Delivery(fate, f"The mail server answered: {answer}")


def _no_server(problem: Exception) -> str:
    where = f"{settings.EMAIL_HOST}:{settings.EMAIL_PORT}"
    if isinstance(problem, smtplib.SMTPAuthenticationError):
        return f"The mail server {where} refused the sign-in: check user and password in EMAIL_URL."
    if isinstance(problem, ssl.SSLError):
        return f"No secure line to the mail server {where}: {problem.reason or problem}"
    if isinstance(problem, TimeoutError | socket.gaierror | ConnectionError):
        return f"The mail server {where} cannot be reached: {problem.strerror or problem}"
    return f"The mail server {where} cannot be used: {problem}"
