"""``manage.py start``: the desk for real use."""

from argparse import ArgumentParser, ArgumentTypeError

from django.core.management import call_command
from django.core.management.base import CommandError

from kitdesk.desk_server import PortTaken, check_port, open_to, serve
from kitdesk.owner import owner_exists
from kitdesk.workers import usual_number
from rentals.desk_command import DeskCommand


def port_number(text: str) -> int:
    """A TCP port, 1 to 65535. Raises ArgumentTypeError with a sentence for the command line."""
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 65535):
        raise ArgumentTypeError(f"{text!r} is no port; give a whole number from 1 to 65535.")
    return int(text)


class Command(DeskCommand):
    help = (
        "Start the desk: database, server and background workers. The first page makes the owner's"
        " account."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=port_number, default=8000)
        parser.add_argument(
            "--host", default="127.0.0.1", help="0.0.0.0 lets phones on the local network in"
        )
        parser.add_argument(
            "--workers", type=int, default=usual_number(), help="background workers (0 for none)"
        )

    def handle(self, *, host: str, port: int, workers: int, **options: object) -> None:
        try:
            check_port(host, port, "start")
            call_command("prepare", stdout=self.stdout)
            address = open_to(host, port)
            self.stdout.write(f"\nKitdesk: {address}")
            if not owner_exists():
                self.stdout.write("Open it to make the owner's account.")
            self.stdout.flush()
            serve(host, port, workers=workers, say=self._say)
        except PortTaken as problem:
            raise CommandError(str(problem)) from problem

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
