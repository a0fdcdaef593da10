"""How much faster two processes re-score stored captures than one: the real command's work on a
scratch desk.

Run as ``python -m kitdesk.rescore_speed COUNT`` it prints the seconds of both runs as JSON, each
with the processor seconds it took (on a busy machine the first grow and the second do not);
`rescore_ratio` does that in a process and a data folder of their own, so that no real desk is
touched.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from itertools import cycle
from pathlib import Path
from time import perf_counter

from readiness.signal.study.speed import Ratio

KITS = 50


def rescore_ratio(captures: int) -> Ratio:
    """Seconds of `rescore` over ``captures`` stored captures by one process over those by two."""
    with tempfile.TemporaryDirectory() as folder:
        own = {
            name: value
            for name, value in os.environ.items()
            if name not in ("DATABASE_URL", "EMAIL_URL", "KITDESK_FILES")
        }
        own |= {"KITDESK_VAR": folder, "DJANGO_SETTINGS_MODULE": "kitdesk.settings"}
        # One core is to be one core: no threads of the linear algebra beside it.
        own |= {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        command = [sys.executable, "-m", "kitdesk.rescore_speed", str(captures)]
        root = Path(__file__).resolve().parent.parent
        output = subprocess.run(
            command, env=own, cwd=root, check=True, capture_output=True, text=True
        ).stdout
    (on_one, on_one_cpu), (on_two, on_two_cpu) = json.loads(output.splitlines()[-1])
    detail = (
        f"{captures} captures of {KITS} kits: {on_one:.1f} s, {on_two:.1f} s; processor"
        f" {on_one_cpu:.1f} s, {on_two_cpu:.1f} s"
    )
    return Ratio("rescore on 2 cores / on 1", on_one / on_two, 1.8, "x", detail, at_least=True)


def _stored(count: int) -> None:
    """A scratch desk with kits at the bench and ``count`` scored captures, their files all
    different.
    """
    from django.core.files.base import ContentFile
    from django.db import transaction
    from django.utils import timezone

    from readiness.actions.upload import store_upload
    from readiness.models import BenchPlan, Capture
    from readiness.signal.simulator.captures import Setup, csv_bytes, simulate
    from rentals.actions.register import register_kit
    from rentals.models import KitType

    tests = ("still", "flex", "lift")
    file_bytes = {test: csv_bytes(simulate(test, Setup(rate_hz=1024.0, seed=5))) for test in tests}
    with transaction.atomic():
        kit_type = KitType.objects.create(name="Kit for timing")
        BenchPlan.objects.create(kit_type=kit_type, tests=list(tests))
        kits = [register_kit(kit_type) for _ in range(KITS)]
        files = []
        for number, (kit, test) in zip(
            range(count), cycle([(k, t) for k in kits for t in tests]), strict=False
        ):
            data = b"# kit: %b\n# note: %d\n" % (kit.code.encode(), number) + file_bytes[test]
            files.append(ContentFile(data, name=f"{kit.code} {test} {number}.csv"))
        store_upload(files, at=timezone.now())
        for kit in kits:
            for test in tests:
                Capture.objects.filter(kit=kit, name__contains=f" {test} ").update(
                    test=test, status=Capture.Status.SCORED
                )


def _main(count: int) -> None:
    import django

    django.setup()
    from django.core.management import call_command

    from readiness.actions.rescore import rescore
    from readiness.models import BenchPlan, Capture

    call_command("migrate", verbosity=0)
    _stored(count)
    seconds = []
    rescore(Capture.objects.all())  # the first verdicts; from here on each run has old ones to keep
    for workers, limit in ((1, 1.9), (2, 1.8)):
        BenchPlan.objects.update(noise_limit_uv=limit)
        start, busy = perf_counter(), sum(os.times()[:4])
        rescore(Capture.objects.all(), workers=workers)
        seconds.append((perf_counter() - start, sum(os.times()[:4]) - busy))
    print(json.dumps(seconds))


if __name__ == "__main__":
    _main(int(sys.argv[1]))
