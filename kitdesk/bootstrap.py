"""Hands a command to Django."""

import os


def main(argv: list[str]) -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitdesk.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(argv)
    return 0
