"""What the desk itself does in the background: the log is checked from its owner's page, and long
lists become files, as the person who asked may see them.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.urls import resolve

from kitdesk.roles.gate import request_of
from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandFile, ErrandResult, errand_work
from rentals.actions.verifying import note_verified
from rentals.counts import counted
from rentals.errors import Refused
from rentals.models import Errand, ErrandKind, Event, Kit
from rentals.seals.heads import told_heads
from rentals.selectors.export import telling_rows
from rentals.verifying.findings import Findings
from rentals.verifying.jobs import VerifyJob, all_jobs, run_job
from rentals.web.table_file import TableFile, table_of


@errand_work(ErrandKind.VERIFY)
def check_log(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """Verify. While others work, a row may be read later than the event that it follows from: only
    what a second look finds too is a fault.
    """
    jobs = all_jobs()
    progress.begin(len(jobs), "parts checked")
    first, doubted = _looked(jobs, progress)
    faults = first.told()
    if doubted:
        progress.begin(len(doubted), "parts checked once more")
        again = set(_looked(doubted, progress)[0].told())
        faults = [sentence for sentence in faults if sentence in again]
    note_verified(len(faults))
    kits = counted(Kit.objects.count(), "kit", "kits")
    events = counted(Event.objects.count(), "event", "events")
    if not faults:
        return ErrandResult(f"All in order: {kits}, {events}.")
    found = counted(len(faults), "fault", "faults")
    return ErrandResult(
        f"{found} in {kits}, {events}. Keep the backups of before, and look at each that is named.",
        named=faults,
        faulty=True,
    )


@errand_work(ErrandKind.EXPORT)
def list_as_file(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """The file that its address gives at once where the list is short. Its fact: ``address``."""
    if errand.asked_by is None:
        raise Refused("Whoever asked for this has no account any more.")
    request = request_of(errand.asked_by, errand.facts["address"])
    if not request.may(request.path):
        raise Refused("You may no longer see what this list holds.")
    asked = resolve(request.path)
    table = table_of(asked.func, request, **asked.kwargs)
    if table is None:
        raise Refused("This list can no longer be had like this. Ask for it again on its page.")
    progress.begin(table.rows, "rows written")
    rows = counted(table.rows, "row", "rows")
    file = ErrandFile(table.file_name, table.form.content_type, _told(table, progress))
    return ErrandResult(f"One file with {rows}.", file=file)


def _told(table: TableFile, progress: ErrandProgress) -> Iterator[bytes]:
    with telling_rows(progress.step):
        yield from table.pieces


def _looked(jobs: list[VerifyJob], progress: ErrandProgress) -> tuple[Findings, list[VerifyJob]]:
    """What was found, and the parts in which something was."""
    heads, found, doubted = told_heads(), Findings(), []
    for job in jobs:
        findings = run_job(job, heads)
        found.join(findings)
        if not findings.clean:
            doubted.append(job)
        progress.step()
    return found, doubted
