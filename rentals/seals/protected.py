"""The tables of the loan loop that the log protects: what was lent, in which state, for what money,
and by which rules. Left out are people and their addresses, which are corrected and erased; words
(mails, wordings, notices) and papers, whose mails and lists carry hashes of their own; and what is
only asked for or planned (runs, reminders, earmarks, help by symptom), of which events tell what
was done.
"""

from __future__ import annotations

from django.db.models import Model

from rentals.models import (
    DETAIL_MODELS,
    AccessToken,
    ContentsLine,
    ElectrodeBatch,
    Entry,
    Event,
    Kit,
    KitType,
    Lead,
    LinePhoto,
    Loan,
    PackingLine,
    Part,
    Practice,
    ReturnCheck,
    ReturnLine,
    Shortfall,
    StockItem,
)

from .tables import protect

_REPLAYED = "its events say what it must be"


def protect_rentals() -> None:
    """Have the log hold them."""
    of_events = [field.attname for field in Event._meta.local_concrete_fields]
    covered = "its hash covers it, which is worked out anew"
    protect(Event, {name: covered for name in of_events if name != "hash"})
    # Not protected: webhooks and their calls, which say where news went and nothing of the desk.
    replayed = ("state", "cleared", "partly_back", "event_count", "last_hash")
    protect(Kit, dict.fromkeys(replayed, _REPLAYED))
    protect(AccessToken, {"last_used_at": "a trace of its use, which opens nothing"})
    whole: list[type[Model]] = [Part, *DETAIL_MODELS.values(), Lead, StockItem, ElectrodeBatch]
    whole += [Loan, PackingLine, ReturnCheck, ReturnLine, Shortfall, Entry]
    whole += [Practice, KitType, ContentsLine]
    for model in whole:
        protect(model)
    protect(LinePhoto, file="file", file_digest="digest")
