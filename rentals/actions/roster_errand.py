"""A long roster is imported in the background."""

from __future__ import annotations

from rentals import transaction
from rentals.counts import counted
from rentals.models import Errand, ErrandKind, RosterDraft
from rentals.selectors.rosters import people_of

from .errands import ErrandAsked, ask_errand
from .record import Actor
from .roster import importable

#: So many rows are imported while somebody waits: less than a second of a core.
IMPORTED_AT_ONCE = 300


def is_long(draft: RosterDraft) -> bool:
    """Whether its import is work for the background."""
    return len(draft.content["rows"]) > IMPORTED_AT_ONCE


@transaction.atomic
def ask_import(draft: RosterDraft, *, actor: Actor = None) -> Errand:
    """Have a clean draft imported in the background. Raises Refused as `import_draft` does."""
    draft = RosterDraft.objects.select_related("run").get(pk=draft.pk)
    students = counted(len(importable(people_of(draft))), "student", "students")
    preview = draft.get_absolute_url()
    asked = ErrandAsked(
        ErrandKind.ROSTER,
        f"Import of {students} into {draft.run.name}",
        about=draft.run.get_absolute_url(),
        seen_by=preview,
        facts={"draft": draft.pk},
        back=preview,
    )
    return ask_errand(asked, actor=actor)
