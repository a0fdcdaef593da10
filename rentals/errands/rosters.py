"""The import of a long roster."""

from __future__ import annotations

from collections.abc import Iterable

from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandResult, errand_work
from rentals.actions.roster import import_draft, importable
from rentals.errors import Refused
from rentals.models import Errand, ErrandKind, RosterDraft
from rentals.roster.people import PersonRow
from rentals.selectors.rosters import people_of


@errand_work(ErrandKind.ROSTER)
def import_of_roster(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """Look at all rows, then save them in one transaction: all or none, and once. Its fact:
    ``draft``.
    """
    draft = RosterDraft.objects.filter(pk=errand.facts["draft"]).first()
    if draft is None:
        raise Refused("This roster was discarded, or another file took its place. Nobody is saved.")
    if not draft.imported_at:
        rows = len(draft.content["rows"])
        progress.begin(rows, "rows looked at")
        importable(people_of(draft, each=progress.step))
        progress.begin(rows, "rows saved, all at once")
        draft = import_draft(
            draft,
            actor=errand.asked_by,
            last=lambda _, people: progress.hold(named=_left_out(people)),
        )
    errand.refresh_from_db(fields=["named"])
    return ErrandResult(
        f"Roster imported: {draft.result}{_ADVICE if errand.named else ''}",
        named=errand.named,
        place=draft.run.get_absolute_url(),
    )


_ADVICE = " Rows left out are named here: mend them in a table of their own and import that."


def _left_out(people: Iterable[PersonRow]) -> list[str]:
    return [
        " ".join([f"Row {row.number}, {_who(row)}:", *(fault.sentence for fault in row.faults)])
        if row.faults
        else f"Row {row.number}, {_who(row)}: left out though nothing was wrong with it."
        for row in people
        if not row.counted
    ]


def _who(row: PersonRow) -> str:
    return row.person["name"] or row.person["email"] or "without a name"
