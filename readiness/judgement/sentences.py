"""The engine's sentences as people read them. Imports no Django."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

_MICROVOLTS = re.compile(r"(?<=\d) uV\b")


def for_people(sentence: str) -> str:
    """A sentence of the engine, which writes plain ASCII, with the micro sign after its numbers.

    The unit's name in a file's header (``# unit: uV``) is left as it has to be typed.
    """
    return _MICROVOLTS.sub(" µV", sentence)


def finding_for_people(finding: Mapping[str, Any]) -> dict[str, Any]:
    """A finding in its stored form, its sentence put for people."""
    return {**finding, "text": for_people(finding["text"])}
