"""``manage.py backup FILE``: the whole desk in one file."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from kitdesk.backup import NotPossible, write_backup
from rentals.counts import counted


class Command(BaseCommand):
    help = (
        "Write database, captures, pictures and signing key into one zip file, while the desk is in"
        " use."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file",
            type=Path,
            metavar="FILE",
            help="for example desk.zip; keep it as safe as the desk",
        )

    def handle(self, *, file: Path, **options: object) -> None:
        try:
            outcome = write_backup(file.absolute())
        except NotPossible as problem:
            raise CommandError(str(problem)) from problem
        files = counted(outcome.files, "file", "files")
        self.stdout.write(f"{file}: the database and {files}, {outcome.size / 1e6:.1f} MB.")
