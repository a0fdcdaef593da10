"""Captures dropped at the desk, for tests: by a kit, by a check kit day after day."""

from datetime import timedelta

from django.utils import timezone

from readiness.actions.upload import store_upload
from readiness.judgement.bench_day import LEARNT_FROM
from readiness.models import BenchPlan, Capture, Verdict
from rentals.models import Amplifier
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file, kit_files


def still(kit, seed, days_ago=0):
    """A `still` capture of a kit, taken so many days ago."""
    taken = timezone.now() - timedelta(days=days_ago)
    data = capture_bytes("still", kit=kit.code, seed=seed, taken=taken)
    return store_upload([capture_file(f"{seed}.csv", data)]).captures.get()


def learnt(kit):
    """Bench days enough that a check kit has control limits."""
    for n in range(LEARNT_FROM):
        still(kit, 50 + n, days_ago=30 - n)


def noise(capture, value):
    """As if a capture had measured this noise floor, microvolts."""
    Verdict.objects.filter(capture=capture).update(noise_uv=value)


def fit_kit():
    """A kit that has passed all of its tests."""
    kit = complete_kit(cleared=False)
    store_upload(kit_files(kit.code))
    kit.refresh_from_db()
    assert kit.cleared
    return kit


def tighten(kit, limit_uv=0.05):
    """A noise limit, microvolts, that its captures do not hold."""
    plan = BenchPlan.of(kit.kit_type)
    plan.noise_limit_uv = limit_uv
    plan.save()


def wait(capture, **facts):
    """Put a capture back among those that wait to be scored."""
    Capture.objects.filter(pk=capture.pk).update(
        **{"status": "waiting", "claimed_at": None, "attempts": 0, **facts}
    )


def stills(kit, count, first=100):
    """So many good captures of a kit, no two alike; its amplifier."""
    for seed in range(first, first + count):
        store_upload([capture_file(f"{seed}.csv", capture_bytes("still", kit=kit.code, seed=seed))])
    return Amplifier.objects.get(kit=kit)
