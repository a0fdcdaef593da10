"""Looking at the bench changes nothing: no page writes a row."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from readiness.actions.claim_capture import LEASE
from readiness.actions.upload import store_upload
from readiness.models import BenchPlan, Capture
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db
WRITING = ("INSERT", "UPDATE", "DELETE")


@pytest.fixture
def left_behind():
    """A capture whose worker died, of a kit type whose plan nobody has changed."""
    kit = complete_kit(cleared=False)
    BenchPlan.objects.all().delete()
    capture = store_upload(
        [capture_file("a.csv", capture_bytes("still", kit=kit.code))]
    ).captures.get()
    died_at = timezone.now() - LEASE.duration - timedelta(minutes=1)
    Capture.objects.filter(pk=capture.pk).update(status="scoring", claimed_at=died_at, attempts=1)
    capture.refresh_from_db()
    return capture


def pages_of(capture):
    kit = capture.kit
    return [
        reverse("readiness:bench"),
        reverse("readiness:drops"),
        reverse("readiness:batch", args=[capture.upload_id]),
        reverse("readiness:capture", args=[capture.pk]),
        reverse("readiness:columns", args=[capture.pk]),
        reverse("readiness:timer", args=["still"]),
        reverse("readiness:kit_bench", args=[kit.code]),
        reverse("readiness:kit_panel", args=[kit.code]),
        reverse("readiness:round", args=[kit.code]),
        reverse("readiness:plan", args=[kit.kit_type_id]),
    ]


def test_no_page_of_the_bench_writes(signed_in, left_behind):
    for address in pages_of(left_behind):
        with CaptureQueriesContext(connection) as queries:
            assert signed_in.get(address).status_code == 200, address
        written = [query["sql"] for query in queries if query["sql"].startswith(WRITING)]
        assert not written, address
    assert not BenchPlan.objects.exists()


def test_the_drop_page_leaves_lost_work_to_the_clock(signed_in, left_behind):
    signed_in.get(left_behind.upload.get_absolute_url())
    left_behind.refresh_from_db()
    assert left_behind.status == "scoring"
