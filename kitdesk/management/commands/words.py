"""``manage.py words``: brings the catalogues of what students read up to date."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from kitdesk.student_words import (
    bring_up_to_date,
    students_words,
    translated_languages,
    untranslated,
)
from rentals.counts import counted
from rentals.languages import language_code, language_name


class Command(BaseCommand):
    help = (
        "Gather the sentences that students read into rentals/locale, and say which are still to"
        " be translated."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--new", default="", help="begin the catalogue of a language, as in it")

    def handle(self, *, new: str, **options: object) -> None:
        if new and language_code(new) != new:
            raise CommandError(f"{new!r} is no language known here. Give its code, as in it.")
        words = students_words()
        for language in sorted({*translated_languages(), *filter(None, [new])}):
            lacking = untranslated(bring_up_to_date(language, words))
            count = counted(len(lacking), "sentence", "sentences")
            self.stdout.write(f"{language_name(language)}: {count} to be translated")
            for sentence in lacking:
                self.stdout.write(f"    {sentence[:90]}")
