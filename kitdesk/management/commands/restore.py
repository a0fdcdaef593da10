"""``manage.py restore FILE``: a backup into an empty desk."""

from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError

from kitdesk.at_work import nobody_at_work
from kitdesk.backups.erasing import erase_again, unknown_erased
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.whole_desk import restore_backup
from kitdesk.private_files import make_private
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.seals.heads import holds_heads


class Command(DeskCommand):
    help = "Put a backup into an empty desk and bring it up to date. Stop the desk first."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="a file that `backup` wrote")

    def handle(self, *, file: Path, **options: object) -> None:
        try:
            with nobody_at_work():
                self._put_back(file)
        except NotPossible as problem:
            raise CommandError(str(problem)) from problem

    def _put_back(self, file: Path) -> None:
        outcome = restore_backup(file.absolute(), settings.KITDESK_BACKUP_PHRASE)
        call_command("migrate", verbosity=0, interactive=False)
        if not holds_heads(outcome.heads):
            raise CommandError(
                "The log in the backup is not the one that was told when it was made. The desk is"
                " put back; `python3 manage.py verify` says more. Do not work on it before."
            )
        erased = erase_again(file.absolute().parent)
        make_private()
        files = counted(outcome.files, "file", "files")
        self.stdout.write(f"Restored the database and {files} from {file}.")
        if erased:
            students = counted(erased, "student", "students")
            self.stdout.write(f"{students} erased since that backup, or due by now: erased again.")
        if unknown := unknown_erased(file.absolute().parent):
            self.stdout.write(unknown)
        self.stdout.write("`python3 manage.py verify` checks every kit's history.")
