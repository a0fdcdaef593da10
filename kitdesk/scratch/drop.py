"""How long others wait while a large drop is taken in: a second process writes a note to a kit, one
after the other, while this one keeps the files.

Run as ``python -m kitdesk.scratch.drop FILES`` on an empty desk; with ``note CODE`` it is the other
process.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from dataclasses import asdict, dataclass

from kitdesk.scratch.desk import ROOT, measured

KITS = 10
_PAUSE_S = 0.01


@dataclass(frozen=True)
class DropSpeed:
    """Seconds by the clock that the longest of so many notes took, during a drop of so many files;
    seconds that its longest transaction lasted, by the clock and of processor time. The load of the
    machine, in words.
    """

    files: int
    waited_s: float
    notes: int
    held_s: float
    held_processor_s: float
    transactions: int
    load: str
    was_busy: bool
    database: str


def drop_speed(files: int) -> DropSpeed:
    """Measured on a scratch desk. Raises RuntimeError where that fails."""
    return DropSpeed(**measured("drop", str(files)))


# On the scratch desk ---------------------------------------------------------
def _main(files: int) -> None:
    import django

    django.setup()
    from django.core.files.base import ContentFile
    from django.core.management import call_command
    from django.db import connection

    from kitdesk.scratch.bench import kits_at_bench
    from kitdesk.scratch.load import LoadWatch
    from kitdesk.scratch.lock_watch import LockWatch
    from readiness.actions.upload import store_upload

    # Before its own setting up makes the machine look busy.
    load = LoadWatch(own=2)
    call_command("migrate", verbosity=0)
    kits = kits_at_bench(KITS)
    drop = [
        ContentFile(b"%d\n" % number * 4000, name=f"{kits[number % KITS].code} still {number}.csv")
        for number in range(files)
    ]
    store_upload(drop[:1])
    with load:
        other = subprocess.Popen(
            [sys.executable, "-m", "kitdesk.scratch.drop", "note", kits[0].code],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert other.stdout is not None
        other.stdout.readline()
        with LockWatch() as watch:
            store_upload(drop[1:])
        said, _ = other.communicate()
    waits = json.loads(said)
    speed = DropSpeed(
        files=files - 1,
        waited_s=max(waits),
        notes=len(waits),
        held_s=max(watch.held),
        held_processor_s=max(watch.processor),
        transactions=len(watch.held),
        load=load.words,
        was_busy=load.busy,
        database=connection.display_name,
    )
    print(json.dumps(asdict(speed)))


def _write_notes(code: str) -> None:
    """Note something of a kit again and again until standard input closes; how long each took."""
    import django

    django.setup()
    from rentals.actions.issue import note
    from rentals.models import Kit

    ended = threading.Event()

    def listen() -> None:
        sys.stdin.read()
        ended.set()

    kit = Kit.objects.get(code=code)
    note(kit, "A first word.")
    threading.Thread(target=listen, daemon=True).start()
    print("ready", flush=True)
    waits = []
    while not ended.is_set():
        began = time.perf_counter()
        note(kit, "A word in between.")
        waits.append(time.perf_counter() - began)
        time.sleep(_PAUSE_S)
    print(json.dumps(waits))


if __name__ == "__main__":
    if sys.argv[1] == "note":
        _write_notes(sys.argv[2])
    else:
        _main(int(sys.argv[1]))
