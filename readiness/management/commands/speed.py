"""`manage.py speed`: how fast captures are read and scored, as ratios to bare NumPy and SciPy in the same run."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from readiness.signal import speed


class Command(BaseCommand):
    """Prints one line per ratio beside its goal; exit status 1 if one is missed."""

    help = "Time reading and scoring of captures against bare NumPy, SciPy and edfio on the same files."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--rounds", type=int, default=21, help="timings of each; the median counts")
        parser.add_argument("--captures", type=int, default=2000, help="captures for the run on two cores")

    def handle(self, *args: object, **options: object) -> None:
        rounds = max(1, options["rounds"])
        missed = 0
        for ratio in (
            speed.csv_ratio(rounds),
            speed.edf_ratio(rounds),
            speed.start_up(min(rounds, 7)),
            speed.two_core_ratio(options["captures"]),
        ):
            sign, word = (">=" if ratio.at_least else "<="), ("met" if ratio.met else "MISSED")
            missed += not ratio.met
            goal = f"{sign} {ratio.goal:g} {ratio.unit}: {word}"
            self.stdout.write(f"{ratio.words:<40} {ratio.value:5.2f} {ratio.unit}  goal {goal:<18} ({ratio.detail})")
        if missed:
            raise CommandError(f"{missed} of 4 goals missed.")
