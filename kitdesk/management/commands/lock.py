"""``manage.py lock``: the hashes of all that is installed, from requirements.txt."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from kitdesk.bootstrap import LOCK
from kitdesk.library_lock import REQUIREMENTS, LockFailed, fits, locked_libraries, make_lock
from rentals.counts import counted


class Command(BaseCommand):
    help = "Lock every library of requirements.txt, and what those need, to versions and hashes."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--check", action="store_true", help="only say whether the lock fits requirements.txt"
        )

    def handle(self, *, check: bool, **options: object) -> None:
        requirements = REQUIREMENTS.read_text(encoding="utf-8")
        lock = LOCK.read_text(encoding="utf-8") if LOCK.exists() else ""
        if check and not fits(lock, requirements):
            raise CommandError("requirements.txt has changed. Make its lock with manage.py lock.")
        if not check:
            try:
                lock = make_lock(lock, requirements)
            except LockFailed as failed:
                raise CommandError(f"No lock was made. {failed}") from failed
            LOCK.write_text(lock, encoding="utf-8")
        libraries = counted(len(locked_libraries(lock)), "library", "libraries")
        self.stdout.write(f"{libraries} locked, as requirements.txt asks.")
