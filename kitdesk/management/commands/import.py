"""``manage.py import FOLDER``: an exported desk into an empty one, on either database."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management import call_command
from django.core.management.base import CommandError

from kitdesk.at_work import nobody_at_work
from kitdesk.backups.erasing import erase_again, unknown_erased
from kitdesk.backups.problems import NotPossible
from kitdesk.moving.arriving import House, look_over, move_in
from kitdesk.private_files import make_private
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.seals.heads import begin_heads_anew
from rentals.store_away import StoreAway


class Command(DeskCommand):
    help = "Put a desk that `export` wrote into an empty one, and verify it. Stop the desk first."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "folder", type=Path, metavar="FOLDER", help="a folder that `export` wrote"
        )
        parser.add_argument(
            "--take-on-key",
            action="store_true",
            help="go on with the key this desk has, where the one that wrote the log is lost",
        )

    def handle(self, *, folder: Path, take_on_key: bool, **options: object) -> None:
        try:
            with nobody_at_work():
                self._import(folder, take_on_key=take_on_key)
        except NotPossible as problem:
            raise CommandError(str(problem)) from problem

    def _import(self, folder: Path, *, take_on_key: bool) -> None:
        try:
            house = look_over(folder.absolute(), with_other_key=take_on_key)
            call_command("migrate", verbosity=0, interactive=False)
            call_command("createcachetable", verbosity=0)
            moved = move_in(house)
        except StoreAway as away:
            raise CommandError(f"{away} Nothing was imported.") from away
        except OSError as problem:
            place = problem.filename or folder
            raise CommandError(f"{place}: {problem.strerror}. Nothing was imported.") from problem
        begin_heads_anew()
        rows = counted(moved.rows, "row", "rows")
        files = counted(moved.files, "file", "files")
        self.stdout.write(f"Imported {rows} of {moved.tables} tables, and {files}.")
        self._settle_in(house, take_on_key=take_on_key)

    def _settle_in(self, house: House, *, take_on_key: bool) -> None:
        erased = erase_again(house.folder)
        make_private()
        if erased:
            students = counted(erased, "student", "students")
            self.stdout.write(f"{students} erased since the export, or due by now: erased again.")
        if unknown := unknown_erased(house.folder):
            self.stdout.write(unknown)
        if not house.keeps_its_links:
            self.stdout.write(
                "The signing key is another one: links that students have open no more, and"
                " webhooks are signed otherwise, until secret.key of the old desk lies in this"
                " one's data folder."
            )
        self.stdout.write("Verifying it ...")
        call_command("verify", take_on_key=take_on_key, stdout=self.stdout)
