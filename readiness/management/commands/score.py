"""``manage.py score FILE... [--json]``: score capture files on the command line."""

from __future__ import annotations

import sys
from typing import TextIO, cast

from django.core.management.base import BaseCommand, CommandError, CommandParser

from readiness.signal import command


class Command(BaseCommand):
    help = (
        "Score capture files. Exit status: 0 all fit, 1 any not fit or retest, 2 any not readable."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        command.add_arguments(parser)

    def handle(self, *args: str, **options) -> None:
        from argparse import Namespace

        try:
            status = command.run(Namespace(**options), cast(TextIO, self.stdout))
        except ValueError as trouble:
            raise CommandError(str(trouble)) from trouble
        if status:
            sys.exit(status)
