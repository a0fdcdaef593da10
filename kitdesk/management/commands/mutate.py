"""``manage.py mutate``: how many small faults in the core the tests notice."""

import os
import tempfile
from argparse import ArgumentParser
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from kitdesk.mutation.core import CORE, CoreModule
from kitdesk.mutation.operators import mutants_of
from kitdesk.mutation.trial import Trials

GOAL_PERCENT = 90.0


class Command(BaseCommand):
    help = (
        "Put small faults into the core, one at a time and in memory only, and count how many the"
        " tests notice. Takes some minutes."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--module", default="", help="only modules whose name contains this")
        parser.add_argument("--every", type=int, default=1, help="only every n-th fault")
        parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)

    def handle(self, *, module: str, every: int, workers: int, **options: object) -> None:
        chosen = [core for core in CORE if module in core.name]
        if not chosen:
            raise CommandError(f"No module of the core has {module!r} in its name.")
        killed = total = 0
        for core in chosen:
            noticed, tried = self._try_module(core, max(1, every), max(1, workers))
            killed, total = killed + noticed, total + tried
        percent = 100 * killed / total
        self.stdout.write(f"{'all':<45} {killed:4} of {total:4} noticed, {percent:5.1f} %")
        if percent < GOAL_PERCENT:
            raise CommandError(f"The goal of {GOAL_PERCENT:g} % is missed.")

    def _try_module(self, core: CoreModule, every: int, workers: int) -> tuple[int, int]:
        """Number of faults noticed and tried; prints each that went unnoticed."""
        mutants = list(mutants_of(core.path.read_text(encoding="utf-8")))[::every]
        with tempfile.TemporaryDirectory() as scratch:
            try:
                trials = Trials(core, Path(scratch))
            except RuntimeError as problem:
                raise CommandError(str(problem)) from problem
            with ThreadPoolExecutor(workers) as pool:
                survived = list(pool.map(lambda mutant: trials.pass_with(mutant.source), mutants))
        unnoticed = [mutant for mutant, alive in zip(mutants, survived, strict=True) if alive]
        killed, total = len(mutants) - len(unnoticed), len(mutants)
        share = 100 * killed / max(total, 1)
        self.stdout.write(f"{core.name:<45} {killed:4} of {total:4} noticed, {share:5.1f} %")
        for mutant in unnoticed:
            self.stdout.write(f"    {core.path.name}:{mutant.line}: {mutant.change}")
        self.stdout.flush()
        return killed, total
