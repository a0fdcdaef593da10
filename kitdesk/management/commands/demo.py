"""``manage.py demo``: an invented desk to look round in, apart from all real data."""

import shutil
import time
from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connections

from kitdesk.desk_server import PortTaken, check_port, open_to, serve
from kitdesk.management.commands.start import port_number
from kitdesk.owner import DEMO_NAME, DEMO_PASSWORD, LOOPBACK, demo_owner
from kitdesk.workers import usual_number
from rentals.desk_command import DeskCommand


class Command(DeskCommand):
    help = "Load an invented course with 24 kits into a database of its own, and serve it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=port_number, default=8000)
        parser.add_argument(
            "--host", default="127.0.0.1", help="0.0.0.0 lets phones on the local network in"
        )
        parser.add_argument(
            "--workers", type=int, default=usual_number(), help="background workers (0 for none)"
        )
        parser.add_argument("--no-serve", action="store_true", help="load the demo, then stop")
        parser.add_argument(
            "--reset", action="store_true", help="throw the demo's data away and load it afresh"
        )

    def handle(
        self, *, host: str, port: int, workers: int, no_serve: bool, reset: bool, **options: object
    ) -> None:
        if settings.VAR.name != "demo":
            raise CommandError(
                "The demo runs only as `python3 manage.py demo`, on its own data in var/demo."
            )
        try:
            if not no_serve:
                check_port(host, port, "demo")
            address = open_to(host, port)
            self._load(settings.VAR, reset)
            self._say_how_to_sign_in(address, host)
            if not no_serve:
                serve(host, port, workers=workers, say=self._say)
        except PortTaken as problem:
            raise CommandError(str(problem)) from problem

    def _load(self, folder: Path, reset: bool) -> None:
        """Load the demo unless it is there in full; a load that was cut short starts again from
        nothing.
        """
        loaded = folder / "loaded.txt"
        if reset or not loaded.exists():
            _wipe(folder)
        call_command("prepare", stdout=self.stdout)
        demo_owner()
        if loaded.exists():
            self._say("The demo is loaded already; --reset loads it afresh.")
            return
        from kitdesk.demo.load import load_demo

        began = time.monotonic()
        load_demo(self.stdout)
        loaded.write_text("The demo's data are complete.\n", encoding="ascii")
        self._say(f"Demo loaded in {time.monotonic() - began:.0f} s.")

    def _say_how_to_sign_in(self, address: str, host: str) -> None:
        self._say(
            f"\nKitdesk demo: {address}\n  name      {DEMO_NAME}\n  password  {DEMO_PASSWORD}"
        )
        if host not in LOOPBACK:
            self._say("  Everybody on this network can sign in with these.")

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()


def _wipe(folder: Path) -> None:
    """Empty the demo's folder. Its keys stay: this process has read them already and goes on with
    them, and an open browser is not puzzled.
    """
    connections.close_all()
    for entry in folder.iterdir():
        if entry.suffix == ".key":
            continue
        shutil.rmtree(entry) if entry.is_dir() else entry.unlink()
