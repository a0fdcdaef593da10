"""Mail as files: what would have been sent lies in the outbox as .eml, which every mail program
opens.
"""

import re
import secrets
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend
from django.core.mail.message import MIMEMixin
from django.utils import timezone


class EmlBackend(BaseEmailBackend):
    """Writes one file per mail, complete or not at all, into ``settings.KITDESK_OUTBOX``.

    The mail gets the file's path as ``eml_path``, so that whoever sent it can say where it lies.
    """

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Write the mails; returns how many. A mail without a recipient is not counted, as with
        SMTP.
        """
        folder = Path(settings.KITDESK_OUTBOX)
        written = 0
        for message in email_messages:
            if not message.recipients():
                continue
            try:
                folder.mkdir(parents=True, exist_ok=True)
                vars(message)["eml_path"] = str(_write(folder, message))
            except OSError:
                if not self.fail_silently:
                    raise
                continue
            written += 1
        return written


def _write(folder: Path, message: EmailMessage) -> Path:
    """Write under a hidden name first, so that a reader of the folder never meets half a mail."""
    document = message.message()
    assert isinstance(document, MIMEMixin)
    content = document.as_bytes(linesep="\r\n")
    stamp = f"{timezone.now():%Y%m%d-%H%M%S}-{secrets.token_hex(4)}"
    whom = re.sub(r"[^A-Za-z0-9@._+-]", "_", message.recipients()[0])[:80]
    hidden = folder / f".{stamp}-{whom}.part"
    try:
        hidden.write_bytes(content)
    except OSError:
        hidden.unlink(missing_ok=True)
        raise
    return hidden.replace(folder / f"{stamp}-{whom}.eml")
