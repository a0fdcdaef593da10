"""The round at hand, its tests, and its files that wait for a word."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.actions.guided import begin_round, confirm_files
from readiness.actions.upload import store_upload
from readiness.models import Capture
from readiness.models.guided import OPEN_FOR
from readiness.selectors.guided import guided_page, round_at_hand, waiting_files
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file
from tests.readiness.rounds import dropped, unnamed_file, unnamed_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def test_the_round_begun_last_is_at_hand_until_it_runs_out(kit):
    now, other = timezone.now(), complete_kit(cleared=False)
    assert round_at_hand(now) is None
    begin_round(kit, at=now - timedelta(minutes=20))
    begin_round(other, at=now - timedelta(minutes=10))
    assert round_at_hand(now).kit == other
    assert round_at_hand(now - timedelta(minutes=15)).kit == kit
    assert round_at_hand(now - timedelta(hours=1)) is None
    assert round_at_hand(now + OPEN_FOR) is None


def test_only_the_tests_that_are_not_fit_are_led_through(kit):
    assert guided_page(kit).names == ["still", "flex", "lift"]
    data = capture_bytes("flex", kit=kit.code)
    store_upload([capture_file("a.csv", data)])
    assert guided_page(kit).names == ["still", "lift"]
    dropped(kit, unnamed_round()[::2])
    still, lift = Capture.objects.filter(status="asking").order_by("name")
    confirm_files(kit, {still.pk: "still", lift.pk: "lift"})
    kit.refresh_from_db()
    page = guided_page(kit)
    assert page.names == ["still", "flex", "lift"]
    assert (page.next.label, page.proposals) == ("Next kit", [])


def test_as_many_files_as_tests_of_the_plan_are_the_whole_plan_anew(kit):
    store_upload([capture_file("a.csv", capture_bytes("flex", kit=kit.code))])
    first, second, third = unnamed_round(seed=2)
    dropped(kit, [first, second])
    assert [each.test for each in guided_page(kit).proposals] == ["still", "lift"]
    dropped(kit, [third])
    page = guided_page(kit)
    assert [each.test for each in page.proposals] == ["still", "flex", "lift"]
    assert page.remark == ""


def test_a_file_that_names_half_is_proposed_for_the_other_half(kit):
    only_kit = capture_bytes("flex", kit=kit.code, drop=("test",))
    only_test = capture_bytes("lift", drop=("kit",))
    dropped(
        kit,
        [unnamed_file("1.csv"), capture_file("2.csv", only_kit), capture_file("3.csv", only_test)],
        only=False,
    )
    page = guided_page(kit)
    assert [(each.file.name, each.test) for each in page.proposals] == [
        ("1.csv", "still"),
        ("2.csv", "flex"),
        ("3.csv", "lift"),
    ]
    assert (page.asking, page.remark) == ([], "")


def test_a_file_in_doubt_is_asked_and_not_proposed(kit):
    other = complete_kit(cleared=False)
    doubtful = capture_bytes("still", drop=("kit", "test"))
    of_other = capture_bytes("flex", kit=other.code, drop=("test",))
    dropped(
        kit,
        [
            capture_file("flex or lift.csv", doubtful),
            capture_file("a.csv", of_other),
            capture_file(f"{kit.code[:-1]}.csv", capture_bytes("lift", drop=("kit", "test"))),
        ],
        only=False,
    )
    page = guided_page(kit)
    assert page.proposals == []
    assert len(page.asking) == 3


def test_what_asks_for_columns_and_what_is_unreadable_stand_apart(kit):
    rows = "".join(f"{n % 7},{n % 5}\n" for n in range(10_000))
    columns = capture_file("columns.csv", ("left,right\n" + rows).encode())
    upload = dropped(kit, [columns, capture_file("junk.csv", b"junk"), capture_file("0.csv", b"")])
    page = guided_page(kit, str(upload.pk))
    assert [capture.name for capture in page.columns] == ["columns.csv"]
    assert [capture.name for capture in page.unreadable] == ["junk.csv"]
    assert [file.name for file in page.turned_away] == ["0.csv"]
    later = guided_page(kit, "²" * 3)
    assert (later.unreadable, later.turned_away) == ([], [])
    Capture.objects.filter(name="junk.csv").update(status="waiting")
    assert guided_page(kit).asks_again == "every 2s"


def test_the_page_takes_no_more_queries_for_more_files(kit, django_assert_max_num_queries):
    dropped(kit, [unnamed_file(f"{seed}.csv", seed=seed) for seed in range(1, 9)])
    with django_assert_max_num_queries(25):
        assert len(guided_page(kit).proposals) == len(waiting_files(kit)) == 8
