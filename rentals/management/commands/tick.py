"""``manage.py tick``: what is due by the clock. From cron, or once a minute by a worker; safe to
run twice at once.
"""

from __future__ import annotations

from django.core.management.base import BaseCommand

from rentals.post.reminders import remind
from rentals.post.sending import drain


class Command(BaseCommand):
    help = (
        "Draft the reminders that are due and send every mail that waits. Safe to run beside a"
        " worker, or twice."
    )

    def handle(self, *, verbosity: int, **options: object) -> None:
        reminded = remind()
        done = drain()
        if verbosity:
            self.stdout.write(
                f"{reminded} reminders; {done.sent} mails sent, {done.later} to be tried again,"
                f" {done.failed} failed, {done.uncertain} may have been sent."
            )
