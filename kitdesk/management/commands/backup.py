"""``manage.py backup``: the whole desk in one file, or the day's backup into its folder; and
whether such a file can be put back.
"""

from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.utils import timezone

from kitdesk.backups import daily
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.standing import folder_of_backups, standing_here
from kitdesk.backups.trying import try_backup
from kitdesk.backups.whole_desk import Archive, write_backup
from rentals.actions.verifying import note_verified
from rentals.counts import counted
from rentals.desk_command import DeskCommand


class Command(DeskCommand):
    help = (
        "Write database, captures, pictures and signing key into one file, while the desk is in"
        " use. Without a name: the day's backup into the folder of backups. With --check: put a"
        " backup into a scratch place and verify it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file",
            type=Path,
            nargs="?",
            metavar="FILE",
            help="for example desk.zip; keep it as safe as the desk",
        )
        parser.add_argument(
            "--check",
            action="store_true",
            help="try FILE, or the newest of the folder, instead of writing one",
        )

    def handle(self, *, file: Path | None, check: bool, **options: object) -> None:
        try:
            if check:
                self._try(file)
            elif file is not None:
                self._say(file, write_backup(file.absolute(), settings.KITDESK_BACKUP_PHRASE))
            else:
                self._daily()
        except NotPossible as problem:
            raise CommandError(str(problem)) from problem
        except OSError as problem:
            place = problem.filename or file or _folder()
            raise CommandError(f"{place}: {problem.strerror}. No backup was made.") from problem

    def _daily(self) -> None:
        folder = _folder()
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        made = daily.make_backup(folder, timezone.now())
        self._say(folder, made)

    def _try(self, file: Path | None) -> None:
        if file is None:
            standing = standing_here()
            if standing is None or standing.last is None:
                raise CommandError(f"{_folder()} holds no backup to try. Make one, or name a file.")
            file = standing.last.path
        try:
            said = try_backup(file.absolute())
        except NotPossible as problem:
            daily.note_check(file.name, str(problem))
            raise
        daily.note_check(file.name, "")
        note_verified(0, of_backup=True)
        self.stdout.write(f"{file} can be put back. {said}")

    def _say(self, place: Path, made: Archive) -> None:
        files = counted(made.files, "file", "files")
        self.stdout.write(f"{place}: the database and {files}, {made.size / 1e6:.1f} MB.")


def _folder() -> Path:
    folder = folder_of_backups()
    if folder is None:
        raise CommandError("KITDESK_BACKUPS is off: name a file, or set it to a folder.")
    return folder
