"""What another program is told of, and how such a call is signed: by the open specification
Standard Webhooks. Pure: no rows, no settings.

A call bears three headers: `webhook-id`, `webhook-timestamp` (whole seconds) and
`webhook-signature`, which is `v1,` and the Base64 of HMAC-SHA256 over `id.timestamp.body`. The
secret is `whsec_` and the Base64 of its bytes.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlsplit

#: Each with the sentence that the owner reads.
TOPICS = {
    "kit.dispatched": "A kit is handed over to the carrier",
    "kit.recalled": "A dispatch is taken back",
    "kit.returned": "A kit has come back, or part of it",
    "kit.checked": "The check of what came back is finished",
    "kit.lost": "A kit is given up",
    "kit.cleared": "The bench has cleared a kit for issue",
    "capture.scored": "A capture has its verdict",
}
#: Tells of nothing; no webhook chooses it.
TRIAL = "kitdesk.trial"
#: What happens while a webhook is paused is kept for it so long.
KEPT_WHILE_PAUSED = timedelta(days=3)
SECRET_PREFIX = "whsec_"  # noqa: S105  (what a secret begins with)
#: Waits after the first try, the second and so on: about three days in all.
WAITS = (
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    *(timedelta(hours=hours) for hours in (2, 5, 10, 14, 20, 24)),
)


def secret_words(secret: bytes) -> str:
    """A secret as the receiver keeps it."""
    return SECRET_PREFIX + base64.b64encode(secret).decode()


def signature(secret: bytes, call_id: str, timestamp: int, body: str) -> str:
    """What proves that a call is this desk's, and when it was made."""
    signed = f"{call_id}.{timestamp}.{body}".encode()
    digest = hmac.new(secret, signed, hashlib.sha256).digest()
    return f"v1,{base64.b64encode(digest).decode()}"


def headers_of(secret: bytes, call_id: str, body: str, now: datetime) -> dict[str, str]:
    """The head of one try."""
    timestamp = int(now.timestamp())
    return {
        "Content-Type": "application/json",
        "User-Agent": "Kitdesk",
        "webhook-id": call_id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": signature(secret, call_id, timestamp, body),
    }


def body_of(topic: str, at: datetime, data: dict[str, Any]) -> str:
    """What is told: a topic, when it happened, and ids and codes. No name."""
    moment = at.astimezone(UTC).isoformat(timespec="milliseconds")
    told = {"type": topic, "timestamp": moment, "data": data}
    return json.dumps(told, separators=(",", ":"))


def wait_after(tries: int) -> timedelta | None:
    """How long to wait after so many tries; None where that was the last one."""
    return WAITS[tries - 1] if tries <= len(WAITS) else None


def fault_of_address(address: str, *, may_be_plain: bool) -> str:
    """Why an address cannot be called, in a sentence; empty where it can. `may_be_plain`: also
    without TLS.
    """
    try:
        parts = urlsplit(address)
        host, _ = parts.hostname, parts.port
    except ValueError:
        return "This is no address: give one such as https://course.example.org/kits."
    if not (parts.scheme == "https" or (may_be_plain and parts.scheme == "http")):
        return "The address must begin with https://, so that nobody reads along."
    if not host:
        return "The address names no machine: give one such as https://course.example.org/kits."
    if parts.username or parts.password:
        return "Leave name and password out of the address: the signature says who calls."
    return ""
