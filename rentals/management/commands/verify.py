"""`manage.py verify`: checks every hash chain, that each kit's state follows from its events, and
that every protected row is as the log has it.
"""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser
from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandError
from django.db import DatabaseError

from rentals.actions.verifying import note_verified
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.models import Event, Kit
from rentals.seals.chain import head_of_log
from rentals.seals.heads import head_from_words, told_heads
from rentals.seals.opening import take_on_key
from rentals.selectors.clock import clock_set_back
from rentals.verifying.figures import figures
from rentals.verifying.jobs import VerifyJob, all_jobs
from rentals.verifying.progress import ProgressBar
from rentals.verifying.resuming import CleanParts
from rentals.verifying.together import collect, look_at, usual_processes


class Command(DeskCommand):
    """Prints one line per fault and two closing lines; exit status 1 if anything does not fit."""

    help = (
        "Check every history chain, each kit's state against its events, and the log over all:"
        " whether it is whole, and whether rows and files are as it has them."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--head",
            action="append",
            default=[],
            metavar="N:CODE",
            help="a head of the log that was told earlier: it must stand in it",
        )
        parser.add_argument(
            "--take-on-key",
            action="store_true",
            help="go on with the key this desk has, where the one that wrote the log is lost",
        )

        parser.add_argument(
            "--resume",
            action="store_true",
            help="leave out what an earlier check found clean and nothing was written to since;"
            " what was changed by hand in the database meanwhile is found by a full check only",
        )
        parser.add_argument(
            "--processes", type=int, default=0, help="processes that share the work (0: by size)"
        )
        parser.add_argument(
            "--figures", action="store_true", help="say what the check took, in time and memory"
        )

    def handle(self, *, head: list[str], take_on_key: bool, **options: Any) -> None:
        try:
            heads = dict(map(head_from_words, head))
        except ValueError as problem:
            raise CommandError(str(problem)) from problem
        if take_on_key:
            self._take_on()
        if clock := clock_set_back():
            self.stdout.write(clock)
        began = time.monotonic()
        faults = self._look(heads, resume=options["resume"], processes=options["processes"])
        if options["figures"]:
            self.stdout.write(figures(time.monotonic() - began))
        for fault in faults:
            self.stdout.write(fault)
        self._note(len(faults))
        kits = counted(Kit.objects.count(), "kit", "kits")
        events = counted(Event.objects.count(), "event", "events")
        if faults:
            found = counted(len(faults), "fault", "faults")
            raise CommandError(f"{found} in {kits}, {events}.")
        self.stdout.write(f"The log ends at {head_of_log()}")
        self.stdout.write(f"All in order: {kits}, {events}.")

    def _look(self, heads: Mapping[int, str], *, resume: bool, processes: int) -> list[str]:
        parts, jobs = CleanParts(resume=resume), all_jobs()
        remaining = parts.remaining(jobs)
        if left_out := len(jobs) - len(remaining):
            many = counted(left_out, "part", "parts")
            self.stdout.write(f"{many} of {len(jobs)} left out: clean before, and not written to.")
        progress = ProgressBar(sys.stderr, len(remaining))

        def looked(job: VerifyJob, clean: bool) -> None:
            parts.note(job, clean=clean)
            progress.step()

        processes = processes or usual_processes(len(remaining))
        found = look_at(remaining, told_heads() | dict(heads), processes)
        return collect(found, looked).told()

    def _note(self, faults: int) -> None:
        """For the health page; a database that takes nothing in was looked at all the same."""
        try:
            note_verified(faults)
        except DatabaseError as problem:
            self.stderr.write(f"That this was done could not be noted: {problem}")

    def _take_on(self) -> None:
        take_on_key()
        self.stdout.write("The log goes on with this desk's key; all rows are held as they stand.")
