"""Taking in drops: kept byte for byte, the same bytes once, each file on its own."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from readiness.actions.lay_down import laid_drop
from readiness.actions.upload import keep_drop, store_upload
from readiness.models import Capture
from rentals.codes import grouped, make_code
from rentals.errors import Refused
from tests.factories import complete_kit
from tests.hour import most
from tests.readiness.captures import capture_bytes, capture_file, kit_files

pytestmark = pytest.mark.django_db


def test_the_bytes_are_kept_as_they_came_under_a_name_of_our_own():
    kit = complete_kit(cleared=False)
    data = capture_bytes("still", kit=kit.code)
    upload = store_upload([capture_file("../../etc/K<0>.csv", data)])
    capture = upload.captures.get()
    assert capture.name == "K<0>.csv"
    with capture.file.open("rb") as kept:
        assert kept.read() == data
    assert re.fullmatch(
        f"captures/{capture.sha256[:2]}/{capture.sha256}-[0-9a-f]{{16}}", capture.file.name
    )


def test_header_and_name_both_lead_to_kit_and_test():
    kit, other = complete_kit(cleared=False), complete_kit(cleared=False)
    by_header = capture_file("recording 1.csv", capture_bytes("still", kit=kit.code))
    by_name = capture_file(f"{other.code} flex.csv", capture_bytes("flex", drop=("kit", "test")))
    upload = store_upload([by_header, by_name])
    found = {c.name: (c.kit, c.test, c.status) for c in upload.captures.all()}
    assert found["recording 1.csv"] == (kit, "still", "scored")
    assert found[f"{other.code} flex.csv"] == (other, "flex", "scored")


def test_edf_says_kit_and_test_in_its_recording_field():
    kit = complete_kit(cleared=False)
    upload = store_upload(
        [capture_file("a.edf", capture_bytes("flex", kit=kit.code, battery_v=2.7, edf=True))]
    )
    capture = upload.captures.get()
    assert (capture.kit, capture.test, capture.status) == (kit, "flex", "scored")


def test_the_same_bytes_for_another_kit_are_turned_away_naming_the_first():
    kit, other = complete_kit(cleared=False), complete_kit(cleared=False)
    data = capture_bytes("still", drop=("kit", "test"))
    first = store_upload([capture_file(f"{kit.code} still.csv", data)]).captures.get()
    second = store_upload([capture_file(f"{other.code} still.csv", data)])
    assert not second.captures.exists()
    away = second.turned_away.get()
    assert away.same_as == first
    assert f"the same bytes as {kit.code} still.csv" in away.sentence
    assert grouped(kit.code) in away.sentence


def test_the_same_bytes_twice_in_one_drop_are_taken_once():
    kit = complete_kit(cleared=False)
    data = capture_bytes("still", kit=kit.code)
    upload = store_upload([capture_file("a.csv", data), capture_file("b.csv", data)])
    assert upload.captures.count() == 1
    assert upload.turned_away.get().name == "b.csv"


def test_no_file_at_all_is_refused():
    with pytest.raises(Refused) as refusal:
        store_upload([])
    assert refusal.value.field == "files"


def test_a_file_without_any_hint_takes_the_kit_of_the_page_it_was_dropped_on():
    kit = complete_kit(cleared=False)
    upload = store_upload([capture_file("flex.csv", capture_bytes("flex", drop=("kit",)))], kit=kit)
    assert upload.captures.get().kit == kit


def test_a_file_that_names_another_kit_keeps_that_one():
    kit, other = complete_kit(cleared=False), complete_kit(cleared=False)
    upload = store_upload(
        [capture_file("flex.csv", capture_bytes("flex", kit=other.code))], kit=kit
    )
    assert upload.captures.get().kit == other


def test_header_and_name_that_differ_are_asked():
    kit, other = complete_kit(cleared=False), complete_kit(cleared=False)
    upload = store_upload(
        [capture_file(f"{other.code} flex.csv", capture_bytes("still", kit=kit.code))]
    )
    capture = upload.captures.get()
    assert (capture.status, capture.missing) == ("asking", "kit test")
    assert grouped(kit.code) in capture.refusal
    assert grouped(other.code) in capture.refusal


def test_a_kit_that_is_not_here_is_said():
    code = make_code("K", 9999)
    upload = store_upload([capture_file("a.csv", capture_bytes("still", kit=code))])
    capture = upload.captures.get()
    assert (capture.status, capture.missing) == ("asking", "kit")
    assert f"There is no kit {grouped(code)}" in capture.refusal


def test_the_files_own_time_counts_but_never_one_after_the_upload():
    kit = complete_kit(cleared=False)
    before = datetime(2026, 3, 1, 10, 30, tzinfo=UTC)
    after = timezone.now() + timedelta(days=400)
    early, late, silent = (
        store_upload(
            [capture_file("a.csv", capture_bytes("still", kit=kit.code, seed=n, taken=at))]
        ).captures.get()
        for n, at in enumerate((before, after, None), start=1)
    )
    assert (early.taken, early.taken_known) == (before, True)
    assert late.taken == late.upload.at
    assert (silent.taken, silent.taken_known) == (silent.upload.at, False)


@pytest.mark.any_database
def test_the_captures_of_many_kits_in_one_drop():
    count = most(7, 20)
    kits = [complete_kit(cleared=False) for _ in range(count)]
    files = [file for n, kit in enumerate(kits) for file in kit_files(kit.code, seed=1 + n)]
    upload = store_upload(files)
    assert upload.captures.filter(status="scored").count() == 3 * count
    assert Capture.objects.filter(kit__in=kits).count() == 3 * count
    assert all(kit.captures.count() == 3 for kit in kits)


def test_bytes_that_another_drop_kept_a_moment_ago_are_not_kept_twice():
    """Both looked, neither saw the other's file; the database decides, and the later one is turned
    away in words. Its bytes go, the earlier one's stay.
    """
    kit = complete_kit(cleared=False)
    data = capture_bytes("still", kit=kit.code)
    another = capture_file("c.csv", capture_bytes("flex", kit=kit.code))
    with laid_drop([capture_file("b.csv", data), another]) as drop:
        first = store_upload([capture_file("a.csv", data)]).captures.get()
        later = keep_drop(drop)
    assert later.turned_away.get().same_as == first
    assert later.captures.get().name == "c.csv"
    assert set(default_storage.names()) == {str(c.file) for c in Capture.objects.all()}


def test_bytes_left_over_from_a_drop_that_was_rolled_back_do_no_harm():
    kit = complete_kit(cleared=False)
    data = capture_bytes("still", kit=kit.code)
    with pytest.raises(RuntimeError), transaction.atomic():
        store_upload([capture_file("a.csv", data)])
        raise RuntimeError("the power went")
    assert not Capture.objects.exists()
    capture = store_upload([capture_file("a.csv", data)]).captures.get()
    assert capture.status == "scored"
    with capture.file.open("rb") as kept:
        assert kept.read() == data
