"""Who may read the metrics: addresses and tokens that KITDESK_METRICS names."""

from __future__ import annotations

import hmac
import os
from ipaddress import ip_address, ip_network
from pathlib import Path

from django.conf import settings
from django.http import HttpRequest

#: Letters that a token must have at least.
SHORTEST_TOKEN = 16


def may_read_metrics(request: HttpRequest) -> bool:
    """Whether the visitor's address or token is among those that are named."""
    named = settings.KITDESK_METRICS
    address = request.META.get("REMOTE_ADDR", "")
    if any(_is_in(address, entry) for entry in named if is_address(entry)):
        return True
    given = request.headers.get("Authorization", "").removeprefix("Bearer ").encode()
    tokens = [entry.encode() for entry in named if not is_address(entry)]
    return sum(hmac.compare_digest(given, token) for token in tokens) > 0


def short_tokens() -> int:
    """How many of them can be guessed."""
    tokens = [entry for entry in settings.KITDESK_METRICS if not is_address(entry)]
    return sum(len(token) < SHORTEST_TOKEN for token in tokens)


def is_address(entry: str) -> bool:
    """Whether it names an address or a network, such as ``10.0.0.5`` or ``10.0.0.0/24``."""
    try:
        ip_network(entry, strict=False)
    except ValueError:
        return False
    return True


def forget_counts() -> None:
    """Take away the counts of processes that are no more: they would be read for ever."""
    if not settings.KITDESK_METRICS:
        return
    for file in Path(os.environ["PROMETHEUS_MULTIPROC_DIR"]).glob("*.db"):
        if not _is_alive(int(file.stem.rpartition("_")[2])):
            file.unlink(missing_ok=True)


def _is_alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _is_in(address: str, network: str) -> bool:
    try:
        return ip_address(address) in ip_network(network, strict=False)
    except ValueError:
        return False
