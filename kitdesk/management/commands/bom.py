"""``manage.py bom``: the software bill of materials."""

import json
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from kitdesk.bill_of_materials import bill_of_materials
from kitdesk.bootstrap import LOCK


class Command(BaseCommand):
    help = "Write what is installed as CycloneDX JSON: name, version, licence and hashes."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file", nargs="?", type=Path, help="where to write it; left out, it is printed"
        )

    def handle(self, *, file: Path | None, **options: object) -> None:
        bill = bill_of_materials(LOCK.read_text(encoding="utf-8"), timezone.now())
        text = json.dumps(bill, indent=2)
        if file is None:
            self.stdout.write(text)
            return
        try:
            file.write_text(text + "\n", encoding="utf-8")
        except OSError as problem:
            raise CommandError(
                f"{file} cannot be written: {problem.strerror}. Name another place."
            ) from problem
        self.stdout.write(f"{len(bill['components'])} libraries in {file}.")
