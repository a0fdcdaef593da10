"""`manage.py practice`: an invented practice of any size, to try how Kitdesk carries it."""

from __future__ import annotations

import time
from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.core.management import call_command
from django.core.management.base import CommandError

from kitdesk.owner import DEMO_NAME, DEMO_PASSWORD, owner_exists
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.models import Event, Kit, Loan, Student
from rentals.verifying.figures import figures


def at_least_one(text: str) -> int:
    """A whole number from 1 on."""
    if not text.isdecimal() or not int(text):
        raise ArgumentTypeError(f"{text!r} is not a whole number of at least 1.")
    return int(text)


class Command(DeskCommand):
    """Refuses wherever anybody has an account already."""

    help = (
        "Fill an empty desk with an invented practice of any size, every history whole. Without"
        " --into, KITDESK_VAR or DATABASE_URL it goes into var/practice."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--kits", type=at_least_one, default=500, help="at least so many kits")
        parser.add_argument("--loans", type=at_least_one, default=20, help="loans of each kit")
        parser.add_argument("--seed", type=int, default=1, help="the same seed, the same practice")
        parser.add_argument("--into", metavar="FOLDER", help="the data folder to fill")

    def handle(self, *, kits: int, loans: int, seed: int, **options: Any) -> None:
        call_command("prepare", stdout=self.stdout)
        if owner_exists() or Kit.objects.exists():
            raise CommandError(
                "This desk is in use. A practice goes only into an empty one: name another folder"
                " with --into, or an empty database."
            )
        from kitdesk.practice_maker.make import make_practice

        self.stdout.write("A few lives are played first: about a minute, however many kits.")
        self.stdout.flush()
        began = time.monotonic()
        make_practice(kits, loans, seed, self._progress)
        took = figures(time.monotonic() - began)
        self._say_what_there_is()
        self.stdout.write(took)
        self.stdout.write(f"Sign in as {DEMO_NAME} with {DEMO_PASSWORD}.")

    def _progress(self, done: int, of: int) -> None:
        tenth = max(1, of // 10)
        if done % tenth == 0:
            self.stdout.write(f"{done} of {of} copies written.")
            self.stdout.flush()

    def _say_what_there_is(self) -> None:
        counts = (
            counted(Kit.objects.count(), "kit", "kits"),
            counted(Loan.objects.count(), "loan", "loans"),
            counted(Student.objects.count(), "student", "students"),
            counted(Event.objects.count(), "event", "events"),
        )
        self.stdout.write(f"{', '.join(counts)}.")
