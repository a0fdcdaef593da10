"""A real SMTP server on loopback that keeps what it gets and misbehaves on request."""

import asyncio
import contextlib
import email
import email.policy
import socket
from dataclasses import dataclass, field
from email.message import EmailMessage

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


@dataclass(frozen=True)
class Received:
    """One mail as it came over the wire."""

    sender: str
    recipients: tuple[str, ...]
    raw: bytes

    @property
    def message(self) -> EmailMessage:
        """The mail, parsed; attachments through ``iter_attachments()``."""
        return email.message_from_bytes(self.raw, policy=email.policy.default)


@dataclass
class SmtpServer:
    """Change the attributes between mails to change the behaviour.

    ``refuse`` maps an address to the whole reply its RCPT gets ("550 no such box", "451 try
    later"); ``data_reply`` is the reply after the mail's end instead of 250; ``delay_s`` waits
    before the mail is taken, ``mute_s`` between taking it and saying so; ``drop`` hangs up after
    the mail's end without any reply ("after-data") or as soon as a recipient is named
    ("at-recipient").
    """

    host: str = "127.0.0.1"
    port: int = 0
    received: list[Received] = field(default_factory=list)
    refuse: dict[str, str] = field(default_factory=dict)
    data_reply: str | None = None
    delay_s: float = 0.0
    mute_s: float = 0.0
    drop: str | None = None
    attempts: int = 0

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if self.drop == "at-recipient":
            return self._hang_up(server)
        if address in self.refuse:
            return self.refuse[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        self.attempts += 1
        if self.delay_s:
            await asyncio.sleep(self.delay_s)
        if self.data_reply is not None:
            return self.data_reply
        self.received.append(
            Received(envelope.mail_from or "", tuple(envelope.rcpt_tos), envelope.content or b"")
        )
        if self.mute_s:
            await asyncio.sleep(self.mute_s)
        return self._hang_up(server) if self.drop == "after-data" else "250 OK"

    @staticmethod
    def _hang_up(server: SMTP) -> str:
        if server.transport is not None:
            server.transport.abort()
        return "421 gone"


def free_port() -> int:
    """A loopback port that was free a moment ago."""
    with contextlib.closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextlib.contextmanager
def running_smtp_server():
    """Start an SmtpServer in a thread of its own; stop it at the end."""
    server = SmtpServer(port=free_port())
    controller = Controller(
        server, hostname=server.host, port=server.port, data_size_limit=64 * 1024 * 1024
    )
    controller.start()
    try:
        yield server
    finally:
        controller.stop(no_assert=True)
