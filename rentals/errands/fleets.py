"""Kits and parts from a long table."""

from __future__ import annotations

from collections.abc import Sequence

from django.urls import reverse

from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandResult, errand_work
from rentals.actions.fleet import FleetRegistered, register_rows
from rentals.actions.fleet_errand import rows_together
from rentals.counts import counted
from rentals.errors import Refused
from rentals.forms.fleet import FleetForm
from rentals.models import Errand, ErrandKind
from rentals.roster.fleet_rows import FleetOutcome, FleetRow, judge_fleet
from rentals.selectors.fleet import fleet_on_file
from rentals.states import KitState


@errand_work(ErrandKind.FLEET)
def register_long_fleet(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """Register the table kit by kit, each in a transaction of its own; what is there already is
    left alone, so this may be begun anew. Its fact: ``typed``, the form.
    """
    form = FleetForm(errand.facts["typed"], {})
    if not form.is_valid() or form.fleet is None:
        raise Refused("The table or its kit type is not as it was. Look at the table again.")
    table, kit_type = form.fleet, form.cleaned_data["kit_type"]
    rows = judge_fleet(table, fleet_on_file(table, kit_type))
    there = sum(row.outcome == FleetOutcome.THERE for row in rows)
    progress.begin(len(rows), "rows registered")
    done, refused = FleetRegistered(0, 0, 0), []
    for numbers in rows_together(rows):
        part, judged = register_rows(table, kit_type, numbers, actor=errand.asked_by)
        done = done + part
        refused += _refused(judged)
        errand.said = _said(done, there)
        progress.step(len(numbers))
    outcome = _said(done, there)
    if not refused:
        place = f"{reverse('rentals:kits')}?state={KitState.BENCH}"
        return ErrandResult(outcome, place=place)
    outcome += " Rows in the way are named here. Mend them in the table and send it again."
    return ErrandResult(outcome, named=refused, faulty=True, place=errand.goes_to)


def _said(done: FleetRegistered, there: int) -> str:
    before = f" {counted(there, 'row was', 'rows were')} there before." if there else ""
    return done.sentence + before


def _refused(rows: Sequence[FleetRow]) -> list[str]:
    """A sentence for each row of a kit of which nothing was registered; none where all was."""
    if all(row.outcome != FleetOutcome.WRONG for row in rows):
        return []
    beside = "Nothing is wrong with it, but with another row of its kit."
    return [
        f"Row {row.number}: {' '.join(fault.sentence for fault in row.faults) or beside}"
        for row in rows
    ]
