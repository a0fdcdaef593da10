"""The tables of the loan loop that the log protects: what was lent, in which state, for what money,
and by which rules. Those it does not hold are named in `unprotected.py`, each with its reason.
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

from .tables import leave_unprotected, protect
from .unprotected import UNPROTECTED

_REPLAYED = "its events say what it must be"


def protect_rentals() -> None:
    """Have the log hold them."""
    of_events = [field.attname for field in Event._meta.local_concrete_fields]
    covered = "its hash covers it, which is worked out anew"
    protect(Event, {name: covered for name in of_events if name != "hash"})
    replayed = ("state", "cleared", "partly_back", "event_count", "last_hash")
    protect(Kit, dict.fromkeys(replayed, _REPLAYED))
    protect(AccessToken, {"last_used_at": "a trace of its use, which opens nothing"})
    whole: list[type[Model]] = [Part, *DETAIL_MODELS.values(), Lead, StockItem, ElectrodeBatch]
    whole += [Loan, PackingLine, ReturnCheck, ReturnLine, Shortfall, Entry]
    whole += [Practice, KitType, ContentsLine]
    for model in whole:
        protect(model)
    protect(LinePhoto, file="file", file_digest="digest")
    leave_unprotected(UNPROTECTED)
