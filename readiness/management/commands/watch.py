"""``manage.py watch FOLDER``: takes captures as they appear in a folder."""

from __future__ import annotations

import time
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.db import close_old_connections

from readiness.actions.take_file import take_file
from readiness.intake.folder import HEADER, LOOKS, SUFFIXES, WatchedFolder
from readiness.intake.remote_watch import add_remote_arguments
from rentals.desk_command import DeskCommand
from rentals.store_away import StoreAway


class Command(DeskCommand):
    help = (
        "Take captures as they appear in a folder, and say what was done with each. Named files go"
        " to their kit; others are proposed to the round at hand. No file is moved or deleted."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", help="where the recording program saves")
        parser.add_argument("--once", action="store_true", help="take what is there now, then end")
        parser.add_argument(
            "--every",
            type=float,
            default=1.0,
            metavar="SECONDS",
            help=f"time between looks (1); a file must stand still for {LOOKS} of them",
        )
        add_remote_arguments(parser)

    def handle(self, *, folder: str, once: bool, every: float, **options: Any) -> None:
        if any(options.get(name) for name in ("to", "token_file", "ca")):
            # `kitdesk/dispatch.py` takes --to on before Django; what lacks it comes here.
            raise CommandError("--token-file and --ca go with --to ADDRESS, on the command line.")
        if not 0 <= every <= 3600:
            raise CommandError("--every takes seconds from 0 to 3600.")
        place = Path(folder)
        if not place.is_dir():
            raise CommandError(f"There is no folder {folder}. Name the one your recordings are in.")
        watched = WatchedFolder(place)
        if once:
            self._look_once(watched, every)
            return
        kinds = ", ".join(sorted(suffix[1:].upper() for suffix in SUFFIXES | {HEADER}))
        self._say(f"Watching {folder} for {kinds}. Ctrl+C ends it; the files stay.")
        try:
            self._look_for_ever(watched, every)
        except KeyboardInterrupt:
            self._say("Ended.")

    def _look_once(self, watched: WatchedFolder, every: float) -> None:
        taken = 0
        for look in range(LOOKS):
            if look:
                time.sleep(every)
            try:
                taken += self._look(watched)
            except OSError as problem:
                raise CommandError(_unreadable(watched, problem)) from problem
        for name in watched.growing:
            self._say(f"{name}: left, it is empty or still being written.")
        if not taken and not watched.growing:
            self._say("No capture file is there.")

    def _look_for_ever(self, watched: WatchedFolder, every: float) -> None:
        trouble = ""
        while True:
            close_old_connections()
            try:
                self._look(watched)
                trouble = ""
            except OSError as problem:
                # A share that is away for a while is no reason to end; it is said once.
                if trouble != (trouble := _unreadable(watched, problem)):
                    self._say(trouble)
            time.sleep(every)

    def _look(self, watched: WatchedFolder) -> int:
        whole = watched.look()
        for seen in whole:
            try:
                outcome = take_file(seen)
            except StoreAway as away:
                watched.give_again(seen)
                outcome = f"left for now. {away.sentence}"
            self._say(f"{seen.path.name}: {outcome}")
        return len(whole)

    def _say(self, line: str) -> None:
        self.stdout.write("".join(c if c.isprintable() else "?" for c in line))
        self.stdout.flush()


def _unreadable(watched: WatchedFolder, problem: OSError) -> str:
    return f"The folder {watched.folder} cannot be read: {problem.strerror or problem}."
