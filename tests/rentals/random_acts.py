"""Random sequences of acts, each on the same small desk and taken back afterwards.

``python3 -m tests.rentals.random_acts --sequences 5000 --seed 1`` runs as many as one likes on a
database of its own; a sequence that breaks something is named by its seed, with its acts.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time

LENGTH = 25


def run_one(seed: int, length: int = LENGTH, every: int = 1) -> list[str]:
    """Carry out one sequence; returns what did not hold, with the acts that led there. The caller
    takes everything back.
    """
    from tests.rentals.random_desk import RandomDesk
    from tests.rentals.random_sequence import drawn

    desk = RandomDesk(seed, drawn)
    for number in range(length):
        erased = len(desk.erased)
        try:
            desk.step()
        except Exception as problem:
            return [f"seed {seed}: {problem!r}", *desk.log]
        is_last = number == length - 1
        if is_last or (number + 1) % every == 0 or len(desk.erased) > erased:
            thorough = is_last or len(desk.erased) > erased
            if faults := desk.faults(thorough=thorough):
                return [f"seed {seed}: {'; '.join(faults[:3])}", *desk.log]
    return []


def main() -> int:
    """All sequences; exit status 1 if one broke something."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sequences", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--length", type=int, default=LENGTH)
    parser.add_argument("--every", type=int, default=1, help="look after every so many acts")
    parser.add_argument("--seconds", type=float, default=0, help="stop after so long (0: never)")
    wanted = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.conf import settings
    from django.test.utils import get_runner

    with tempfile.TemporaryDirectory(prefix="kitdesk-acts-") as folder:
        settings.MEDIA_ROOT = f"{folder}/media"
        settings.KITDESK_OUTBOX = f"{folder}/outbox"
        settings.KITDESK_ERASURES = f"{folder}/erasures"
        runner = get_runner(settings)(verbosity=0, interactive=False)
        databases = runner.setup_databases()
        try:
            return _all(wanted)
        finally:
            runner.teardown_databases(databases)


def _all(wanted: argparse.Namespace) -> int:
    from django.db import transaction

    from tests.rentals.random_desk import small_desk

    broken, done, began = 0, 0, time.monotonic()
    small_desk()
    for seed in range(wanted.seed, wanted.seed + wanted.sequences):
        if wanted.seconds and time.monotonic() - began > wanted.seconds:
            break
        with transaction.atomic():
            faults = run_one(seed, wanted.length, wanted.every)
            transaction.set_rollback(True)
        done += 1
        broken += bool(faults)
        if faults:
            print("\n  ".join(faults), flush=True)
    print(f"{done} sequences of {wanted.length} acts, {broken} broken.")
    return int(broken > 0)


if __name__ == "__main__":
    sys.exit(main())
