"""What the desk itself does in the background: the log is checked from its owner's page."""

from __future__ import annotations

from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandResult, errand_work
from rentals.actions.verifying import note_verified
from rentals.counts import counted
from rentals.models import Errand, ErrandKind, Event, Kit
from rentals.seals.heads import told_heads
from rentals.verifying.findings import Findings
from rentals.verifying.jobs import VerifyJob, all_jobs, run_job


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
