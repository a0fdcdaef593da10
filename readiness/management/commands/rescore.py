"""Score stored captures again after a limit, a plan or the method has changed."""

from __future__ import annotations

import os
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from readiness.actions.rescore import Rescored, rescore
from readiness.actions.scoring_tasks import requeue_expired
from readiness.models import Capture
from rentals.codes import NotACode, parse_code
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.models import Kit


class Command(DeskCommand):
    """``manage.py rescore [--kit CODE] [--all] [--workers N]``."""

    help = (
        "Scores stored captures again. Without an option: those whose limits or method have changed"
        " since. Old verdicts are kept; kits whose verdict changed are named."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--kit", help="only the captures of this kit")
        parser.add_argument(
            "--all",
            action="store_true",
            help="also captures judged by the limits and method of now",
        )
        parser.add_argument(
            "--workers",
            type=int,
            default=os.cpu_count() or 1,
            help="processes (default: one a core)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        captures = Capture.objects.all()
        if options["kit"]:
            captures = captures.filter(kit=_kit(str(options["kit"])))
        workers = int(options["workers"])
        if workers < 1:
            raise CommandError("--workers takes a number from 1 up.")
        picked_up = requeue_expired()
        if picked_up:
            again = counted(picked_up, "capture is", "captures are")
            self.stdout.write(f"{again} in the queue again: left behind by a worker.")
        began = time.monotonic()
        report = rescore(
            captures,
            workers=workers,
            only_stale=not options["all"],
            why="rescore",
            on_progress=self._tell if int(options["verbosity"]) else _say_nothing,
        )
        self._sum_up(report, workers, time.monotonic() - began)

    def _tell(self, done: int, total: int) -> None:
        self.stdout.write(f"  {done} of {total}")

    def _sum_up(self, report: Rescored, workers: int, seconds: float) -> None:
        names = {"": "not finished"}
        captures = counted(report.captures, "capture", "captures")
        processes = counted(workers, "process", "processes")
        self.stdout.write(
            f"{captures} scored again in {seconds:.1f} s by {processes};"
            f" {len(report.changed)} with another verdict."
        )
        for code, (before, after) in report.kits.items():
            self.stdout.write(
                f"Kit {code}: {names.get(before, before)} before, {names.get(after, after)} now."
            )
        if not report.kits:
            self.stdout.write("No kit changed.")


def _say_nothing(done: int, total: int) -> None:
    """Progress of a quiet run."""


def _kit(text: str) -> Kit:
    try:
        return Kit.objects.get(code=parse_code(text))
    except NotACode as wrong:
        raise CommandError(wrong.sentence) from wrong
    except Kit.DoesNotExist as missing:
        raise CommandError(f"There is no kit {text}.") from missing
