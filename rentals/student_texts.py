"""Every text of the student's page that an owner may change, by its key, with the usual words."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise

from rentals.guide_texts import GUIDE_TEXTS
from rentals.page_texts import PAGE_NAMES, PAGE_TEXTS

Words = str | Promise

#: The words come in the language that is spoken when they are read: see `rentals/speaking.py`.
USUAL_TEXTS: dict[str, Words] = {**PAGE_TEXTS, **GUIDE_TEXTS}


@dataclass(frozen=True)
class TextGroup:
    """Texts that stand together in Setup."""

    title: str
    keys: tuple[str, ...]


def text_name(key: str) -> str:
    """What Setup calls a text; the usual words of a short one tell it best."""
    return PAGE_NAMES.get(key) or key.removeprefix("guide.").replace(".", ", ").replace("_", " ")


def text_groups() -> list[TextGroup]:
    """All texts in the order of Setup: the page itself, then help by symptom."""
    guide = tuple(key for key in USUAL_TEXTS if key not in PAGE_TEXTS)
    return [
        TextGroup("The student's page", tuple(PAGE_TEXTS)),
        TextGroup("Help by symptom", guide),
    ]
