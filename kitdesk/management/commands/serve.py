"""``manage.py serve``: one more process that answers for ``start``, on its sockets."""

import socket
from argparse import ArgumentParser

from kitdesk.desk_server import serve_on, stoppable
from kitdesk.workers import stop_with_parent
from rentals.desk_command import DeskCommand


class Command(DeskCommand):
    help = "One more server process of `start`, which starts it by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--sockets", required=True, help="numbers of the open sockets, separated by commas"
        )
        parser.add_argument(
            "--stop-with-parent", action="store_true", help="end when standard input closes"
        )

    def handle(self, *, sockets: str, **options: object) -> None:
        if options["stop_with_parent"]:
            stop_with_parent()
        held = [socket.socket(fileno=int(number)) for number in sockets.split(",")]
        with stoppable():
            serve_on(held, say=lambda words: None)
