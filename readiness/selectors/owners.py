"""Whose capture it is, with the kit looked up among those of the desk."""

from __future__ import annotations

from readiness.intake.owners import (
    Clues,
    Question,
    kit_code_of,
    no_such_kit,
    test_of,
)
from readiness.models import Capture
from rentals.models import Kit


def owner_of(
    capture: Capture,
    header_kit: str | None,
    header_test: str | None,
    known: dict[str, Kit] | None = None,
) -> tuple[Kit | Question, str | Question]:
    """Kit and test of a capture whose file has been read; for each, what must be asked instead.

    ``readiness.intake.owners`` says which clue goes before which. `known` are kits by code that
    need not be looked up; those that are go there.
    """
    clues = Clues(capture.name, header_kit, header_test, capture.declared)
    return _kit_of(clues, {} if known is None else known), test_of(clues)


def _kit_of(clues: Clues, known: dict[str, Kit]) -> Kit | Question:
    code = kit_code_of(clues)
    if isinstance(code, Question):
        return code
    if code not in known:
        kit = Kit.objects.select_related("kit_type").filter(code=code).first()
        if kit is None:
            return no_such_kit(code)
        known[code] = kit
    return known[code]
