"""``manage.py export FOLDER``: the whole desk in a folder that people and programs can read."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import CommandError

from kitdesk.backups.problems import NotPossible
from kitdesk.moving.leaving import write_house
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.store_away import StoreAway


class Command(DeskCommand):
    help = (
        "Write the whole desk into an empty folder, while it is in use: CSV tables for people,"
        " exact rows that `import` reads on either database, files, and what it all means."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "folder", type=Path, metavar="FOLDER", help="new or empty; keep it as safe as the desk"
        )

    def handle(self, *, folder: Path, **options: object) -> None:
        try:
            moved = write_house(folder.absolute())
        except NotPossible as problem:
            raise CommandError(str(problem)) from problem
        except StoreAway as away:
            raise CommandError(f"{away} Nothing was exported.") from away
        except OSError as problem:
            place = problem.filename or folder
            raise CommandError(f"{place}: {problem.strerror}. Nothing was exported.") from problem
        rows = counted(moved.rows, "row", "rows")
        files = counted(moved.files, "file", "files")
        self.stdout.write(f"{folder}: {rows} of {moved.tables} tables, and {files}.")
        self.stdout.write("The keys of log and links stay in the data folder: README.md there.")
