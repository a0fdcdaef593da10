"""Keyed codes (HMAC-SHA-256) of many short texts under one key."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

_BLOCK = 64


def coder(key: bytes) -> Callable[[bytes], str]:
    """Tells the code of a text as hexadecimal text, as `hmac.digest` does. What the key alone
    decides is worked out once, which is half of the work for a short text.
    """
    if len(key) > _BLOCK:
        key = hashlib.sha256(key).digest()
    padded = key.ljust(_BLOCK, b"\0")
    inner = hashlib.sha256(bytes(byte ^ 0x36 for byte in padded)).copy
    outer = hashlib.sha256(bytes(byte ^ 0x5C for byte in padded)).copy

    def code(text: bytes) -> str:
        inside, outside = inner(), outer()
        inside.update(text)
        outside.update(inside.digest())
        return outside.hexdigest()

    return code
