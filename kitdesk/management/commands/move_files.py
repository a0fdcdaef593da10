"""``manage.py move_files``: captures and photos from a folder into a store, or back."""

from argparse import ArgumentParser
from typing import Any

from django.core.files.storage import default_storage
from django.core.management.base import CommandError

from kitdesk.file_move import NotSame, copy_all, delete_all, is_of_the_desk, lacking, storage_at
from kitdesk.file_place import WrongPlace, file_place
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.store_away import StoreAway

USUAL = "media"
_EVERY = 100


class Command(DeskCommand):
    help = (
        "Copy captures and photos from one place to another, and compare what arrives. Places are"
        " those of KITDESK_FILES; `media` is the usual folder. Safe to break off and to repeat."
        " Nothing is taken away without --delete."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        where = "where the desk keeps them now"
        parser.add_argument("--from", dest="source", metavar="PLACE", help=f"else {where}")
        parser.add_argument("--to", dest="target", metavar="PLACE", help=f"else {where}")
        parser.add_argument(
            "--delete",
            action="store_true",
            help="take the files away from the old place, once the desk keeps them at the new one",
        )

    def handle(
        self, *, source: str | None, target: str | None, delete: bool, **options: Any
    ) -> None:
        try:
            self._move(_storage(source), _storage(target), delete)
        except (WrongPlace, NotSame, StoreAway) as problem:
            raise CommandError(str(problem)) from problem

    def _move(self, source: Any, target: Any, delete: bool) -> None:
        if is_of_the_desk(source) and is_of_the_desk(target):
            raise CommandError("Both are where the desk keeps its files. Name another with --to.")
        if delete and not is_of_the_desk(target):
            raise CommandError(
                "The desk does not keep its files there yet. Copy them without --delete, set"
                " KITDESK_FILES to the new place, start the desk, then delete the old ones."
            )
        moved = copy_all(source, target, self._say_how_many)
        files = counted(moved.copied, "file", "files")
        self.stdout.write(f"{files} copied, {moved.there} there already.")
        if moved.unnamed:
            left = counted(moved.unnamed, "file is", "files are")
            self.stdout.write(f"{left} named by no row any more, so not copied.")
        if missing := lacking(target):
            raise CommandError(
                f"{counted(len(missing), 'file', 'files')} that rows name lack there, for example"
                f" {missing[0]}. Nothing was taken away."
            )
        if delete:
            files = counted(delete_all(source, self._say_how_many), "file", "files")
            self.stdout.write(f"{files} taken away from the old place.")

    def _say_how_many(self, done: int) -> None:
        if done % _EVERY == 0:
            self.stdout.write(f"{done} ...")
            self.stdout.flush()


def _storage(words: str | None) -> Any:
    if words is None:
        return default_storage
    return storage_at(file_place("" if words == USUAL else words))
