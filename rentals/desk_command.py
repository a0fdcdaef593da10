"""Commands of manage.py that work for a desk."""

from django.core.management.base import BaseCommand

#: The tag of the checks that are of a desk: its folders, its settings, its fonts.
OF_THE_DESK = "desk"


class DeskCommand(BaseCommand):
    """Begins with the checks of the desk. Django's own judge the program and not the desk: they are
    left to `manage.py check`, for they take half the time of a short command.
    """

    requires_system_checks = (OF_THE_DESK,)
