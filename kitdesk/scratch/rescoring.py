"""How much sooner two processes have scored stored captures again than one: the real command's
work, by turns.

Run as ``python -m kitdesk.scratch.rescoring COUNT TURNS`` on an empty desk it prints the seconds of
all turns as JSON, each with the processor seconds it took: on a busy machine the first grow and the
second do not.
"""

from __future__ import annotations

import json
import os
import sys
from itertools import cycle
from statistics import median
from time import perf_counter

from kitdesk.scratch.desk import measured
from readiness.signal.study.speed import Ratio

KITS = 50


def rescore_ratio(captures: int, turns: int = 1) -> Ratio:
    """Seconds of `rescore` over ``captures`` stored captures by one process over those by two.
    Raises RuntimeError where they cannot be measured.
    """
    found = measured("rescoring", str(captures), str(turns))
    (on_one, on_one_cpu), (on_two, on_two_cpu) = (
        [median(part) for part in zip(*found[workers], strict=True)] for workers in ("1", "2")
    )
    detail = (
        f"{captures} captures of {KITS} kits: {on_one:.1f} s, {on_two:.1f} s; processor"
        f" {on_one_cpu:.1f} s, {on_two_cpu:.1f} s; {found['load']}"
    )
    return Ratio("rescore on 2 cores / on 1", on_one / on_two, 1.8, "x", detail, at_least=True)


# On the scratch desk ---------------------------------------------------------
def _stored(count: int) -> None:
    """Kits at the bench and ``count`` scored captures, their files all different."""
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


def _main(count: int, turns: int) -> None:
    import django

    django.setup()
    from django.core.management import call_command

    from kitdesk.scratch.load import LoadWatch
    from readiness.actions.rescore import rescore
    from readiness.models import BenchPlan, Capture

    # Before its own setting up makes the machine look busy.
    load = LoadWatch(own=2)
    call_command("migrate", verbosity=0)
    _stored(count)
    found: dict[int, list[tuple[float, float]]] = {1: [], 2: []}
    limit = 1.9
    with load:
        # The first verdicts; from here on each run has old ones to keep.
        rescore(Capture.objects.all())
        for _ in range(turns):
            for workers, seconds in found.items():
                BenchPlan.objects.update(noise_limit_uv=limit)
                limit -= 0.01
                start, busy = perf_counter(), sum(os.times()[:4])
                rescore(Capture.objects.all(), workers=workers)
                seconds.append((perf_counter() - start, sum(os.times()[:4]) - busy))
    print(json.dumps({**found, "load": load.words}))


if __name__ == "__main__":
    _main(int(sys.argv[1]), int(sys.argv[2]))
