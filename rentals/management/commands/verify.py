"""`manage.py verify`: checks every hash chain and that each kit's state follows from its events."""

from django.core.management.base import BaseCommand, CommandError

from rentals.counts import counted
from rentals.models import Event, Kit
from rentals.verify import verify


class Command(BaseCommand):
    """Prints one line per fault and one closing line; exit status 1 if anything does not fit."""

    help = "Check every history chain, and each kit's state against its events."

    def handle(self, *args: object, **options: object) -> None:
        faults = verify()
        for fault in faults:
            self.stdout.write(fault)
        kits = counted(Kit.objects.count(), "kit", "kits")
        events = counted(Event.objects.count(), "event", "events")
        if faults:
            found = counted(len(faults), "fault", "faults")
            raise CommandError(f"{found} in {kits}, {events}.")
        self.stdout.write(f"All in order: {kits}, {events}.")
