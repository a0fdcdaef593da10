"""Facts as one line of JSON, always the same for the same facts: what hashes are made over."""

from __future__ import annotations

import json
from collections.abc import Callable
from json import encoder
from typing import Any


def packer(default: Callable[[Any], Any] | None = None) -> Callable[[Any], str]:
    """Writes facts as ``JSONEncoder(sort_keys=True, separators=(",", ":"), default=default)`` does.

    That builds its machinery anew for every line, which costs more than a short line does. Here it
    is built once, where Python has it in C.
    """
    plain = json.JSONEncoder(sort_keys=True, separators=(",", ":"), default=default)
    make = getattr(encoder, "c_make_encoder", None)
    if make is None:
        return plain.encode
    escape = encoder.encode_basestring_ascii
    made = make(None, plain.default, escape, None, ":", ",", plain.sort_keys, plain.skipkeys, True)

    def packed(facts: Any) -> str:
        return "".join(made(facts, 0))

    return packed


#: A text in quotes, as it stands in such a line.
quoted: Callable[[str], str] = encoder.encode_basestring_ascii
