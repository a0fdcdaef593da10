"""`manage.py speed`: what Kitdesk costs beside the bare libraries it stands on, measured in the
same run.
"""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from kitdesk import assigning_speed
from kitdesk.desk_speed import costs_of_pages
from kitdesk.desk_table import DeskTable, kept_times
from kitdesk.scratch import rescoring
from kitdesk.scratch.drop import drop_speed
from kitdesk.scratch.lines import drop_lines, rescore_line, workers_lines
from kitdesk.scratch.workers import workers_speed
from readiness.signal.study import speed as capture_speed
from rentals.paper import speed as paper_speed


class Command(BaseCommand):
    """Prints one line per figure beside its goal; exit status 1 if one is missed."""

    help = (
        "Time captures against bare NumPy, SciPy and edfio, paper against bare QR matrices,"
        " and a plan of kits against the bare solver; a run's memory."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--rounds",
            type=int,
            help="timings of each, 21 unless told (2 with --workers); the median counts",
        )
        parser.add_argument(
            "--captures",
            type=int,
            help="stored captures to re-score on one core and on two, 2000 unless told; with"
            " --workers, captures to score in each turn, 180 unless told",
        )
        parser.add_argument("--labels", type=int, default=1000, help="labels to print")
        parser.add_argument(
            "--loans", type=int, default=300, help="loans in the run whose papers are printed"
        )

        parser.add_argument(
            "--desk",
            action="store_true",
            help="measure the pages of this desk instead, each beside an empty page; others wait"
            " meanwhile, so run it on a practice",
        )
        parser.add_argument(
            "--keep", type=Path, metavar="FILE", help="with --desk: write the times down"
        )
        parser.add_argument(
            "--against",
            type=Path,
            metavar="FILE",
            help="with --desk: say how each page has grown since these times were written down",
        )
        parser.add_argument(
            "--workers",
            action="store_true",
            help="measure instead how much sooner two workers have scored a drop than one, and two"
            " processes stored captures; on a scratch desk, on the kind of database of this one",
        )
        parser.add_argument(
            "--drop",
            type=int,
            metavar="FILES",
            help="measure instead how long others wait while so many files are dropped at once; on"
            " a scratch desk as well",
        )
        parser.add_argument("--students", type=int, default=2000, help="students to plan kits for")
        parser.add_argument("--kits", type=int, default=1500, help="kits to plan them with")

    def handle(self, *args: object, **options: Any) -> None:
        rounds, captures = options["rounds"], options["captures"]
        if options["desk"]:
            self._measure_desk(max(1, rounds or 21), options["keep"], options["against"])
            return
        try:
            if options["workers"]:
                self._measure_workers(captures or 180, max(1, rounds or 2))
                return
            if options["drop"]:
                self._say(drop_lines(drop_speed(options["drop"])))
                return
        except RuntimeError as problem:
            raise CommandError(str(problem)) from problem
        count = missed = 0
        for figure in self._figures(max(1, rounds or 21), options):
            sign, word = (">=" if figure.at_least else "<="), ("met" if figure.met else "MISSED")
            count, missed = count + 1, missed + (not figure.met)
            goal = f"{sign} {figure.goal:g} {figure.unit}: {word}"
            line = (
                f"{figure.words:<40} {figure.value:6.2f} {figure.unit:<2}  goal {goal:<18}"
                f" ({figure.detail})"
            )
            self.stdout.write(line)
        if missed:
            raise CommandError(f"{missed} of {count} goals missed.")

    def _measure_desk(self, rounds: int, keep: Path | None, against: Path | None) -> None:
        table = DeskTable(kept_times(against))
        try:
            for line in table.lines(costs_of_pages(rounds)):
                self.stdout.write(line)
        except LookupError as problem:
            raise CommandError(str(problem)) from problem
        if keep is not None:
            table.keep(keep)
        table.judge()

    def _measure_workers(self, captures: int, turns: int) -> None:
        speed = workers_speed(captures, turns)
        self._say(workers_lines(speed))
        # More of them, for they are sooner done, and a second process takes a while to begin.
        again = rescoring.rescore_ratio(4 * captures, turns)
        self._say([rescore_line(again, was_busy=speed.was_busy)])

    def _say(self, lines: Iterable[str]) -> None:
        missed = 0
        for line in lines:
            self.stdout.write(line)
            missed += "MISSED" in line
        if missed:
            raise CommandError("The goal is missed.")

    @staticmethod
    def _figures(
        rounds: int, options: dict[str, int]
    ) -> Iterator[capture_speed.Ratio | paper_speed.Figure]:
        yield capture_speed.csv_ratio(rounds)
        yield capture_speed.edf_ratio(rounds)
        yield from capture_speed.short_ratios(rounds)
        yield capture_speed.start_up(min(rounds, 7))
        yield rescoring.rescore_ratio(options["captures"] or 2000)
        yield paper_speed.label_ratio(options["labels"], min(rounds, 5))
        yield paper_speed.run_memory(options["loans"])
        yield assigning_speed.plan_ratio(options["students"], options["kits"])
