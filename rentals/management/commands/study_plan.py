"""Judge the forecast of returns: simulated seasons, chances stated against what came true."""

from __future__ import annotations

import os
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from rentals.planning.season_report import calibration_lines
from rentals.planning.season_study import study


class Command(BaseCommand):
    help = __doc__
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--seasons", type=int, default=2000, help="for each law of lateness")
        parser.add_argument("--seed", type=int, default=1, help="another seed, other seasons")
        parser.add_argument(
            "--workers",
            type=int,
            default=os.cpu_count() or 1,
            help="processes (default: all cores)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        found = study(
            options["seasons"], options["seed"], options["workers"], progress=self.stderr.write
        )
        for line in calibration_lines(found):
            self.stdout.write(line)
