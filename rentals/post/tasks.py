"""Background work of the post room."""

from __future__ import annotations

from django.db import transaction
from django_tasks import task

from .sending import drain


@task()
def send_what_is_due() -> str:
    """Send everything that is approved and due."""
    done = drain()
    return f"{done.sent} sent, {done.later} later, {done.failed} failed, {done.uncertain} uncertain"


def send_soon() -> None:
    """Have the outbox drained once the surrounding transaction has committed.

    Should this process die between the commit and the queueing, the minute's tick drains it just as
    well.
    """
    transaction.on_commit(send_what_is_due.enqueue)
