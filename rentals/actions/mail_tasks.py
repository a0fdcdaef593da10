"""Sending mail in the background."""

from __future__ import annotations

from django_tasks import task

from rentals import transaction
from rentals.through_locks import through_locks

from .send import send_due_mails

#: Seconds to wait for a database that something else holds; what is left, the minute's tick sends.
LONGEST_WAIT_S = 600


@task()
def send_what_is_due() -> str:
    """Send everything that is approved and due."""
    counts = through_locks(send_due_mails, longest_s=LONGEST_WAIT_S)
    return (
        f"{counts.sent} sent, {counts.later} later, {counts.failed} failed,"
        f" {counts.uncertain} uncertain"
    )


def send_soon() -> None:
    """Have the due mails sent once the surrounding transaction has committed.

    Should this process die between the commit and the queueing, the minute's tick sends them just
    as well.
    """
    transaction.on_commit(send_what_is_due.enqueue)
