"""The bench page: which kits wait, for what, and what stands on the day."""

from __future__ import annotations

import pytest
from django.utils import timezone

from readiness.judgement.bench_day import judge_day
from readiness.models import BenchTest, Capture, Upload
from readiness.selectors.bench import (
    asking_captures,
    bench_day_line,
    bench_lines,
    drifting_rounds,
    kits_of_lines,
    kits_to_bench,
    recent_uploads,
)
from readiness.selectors.rounds import round_since
from rentals.models import Kit
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def round_of(kit: Kit, **facts: object) -> BenchTest:
    """A round of the kit on the bench, begun with what was fitted last."""
    since = round_since(kit).at
    return BenchTest.objects.create(kit=kit, since=since, at=timezone.now(), **facts)


def lines() -> dict[str, tuple[str, str]]:
    return {line.kit.code: (line.act, line.why) for line in bench_lines(kits_at_bench())}


def kits_at_bench() -> list[Kit]:
    return kits_of_lines([kit.pk for kit in kits_to_bench()])


def test_kits_that_wait_are_listed_with_what_they_wait_for(django_assert_num_queries):
    new = complete_kit(cleared=False)
    tested, refused = complete_kit(new.kit_type, cleared=False), complete_kit(new.kit_type)
    wanted = assigned_loan(complete_kit(new.kit_type, cleared=False)).kit
    complete_kit(new.kit_type)  # cleared: it waits for nothing
    round_of(tested, tests={"still": {"verdict": "fit"}})
    round_of(refused, verdict="not fit", sentence="Lead B is open.")
    Kit.objects.filter(pk=refused.pk).update(cleared=False)
    assert kits_to_bench()[0].code == wanted.code
    assert lines() == {
        wanted.code: ("Test", "To record: still, flex, lift."),
        new.code: ("Test", "To record: still, flex, lift."),
        tested.code: ("Test", "To record: flex, lift."),
        refused.code: ("Mend", "Lead B is open."),
    }
    with django_assert_num_queries(4) as asked:
        bench_lines(kits_at_bench())
    # What was measured in a round, and the rest of a kit's plan, stand in no line.
    read = " ".join(query["sql"] for query in asked.captured_queries)
    assert "findings" not in read and "column_maps" not in read


def test_a_round_of_before_the_last_return_says_nothing_of_now():
    kit = complete_kit(cleared=False)
    round_of(kit, verdict="fit", sentence="All fit.")
    assert lines()[kit.code] == ("Clear", "All fit.")
    Kit.objects.filter(pk=kit.pk).update(returned_at=timezone.now())
    assert lines()[kit.code][0] == "Test"


def test_the_day_leads_to_the_check_kit():
    kit = complete_kit()
    line = bench_day_line(judge_day(kit, None, []))
    assert line.next.label == "Test it first"
    assert line.next.url.endswith(f"?kit={kit.code}")


def test_drops_questions_and_drifts_are_gathered():
    kit, now = complete_kit(), timezone.now()
    upload = Upload.objects.create(at=now)
    facts = {"upload": upload, "size": 1, "taken": now, "refusal": "Which kit?"}
    for status, digest in (("asking", "a"), ("waiting", "b"), ("unreadable", "c")):
        Capture.objects.create(name=digest, sha256=digest, status=status, **facts)
    drop = recent_uploads()[0]
    assert (drop.files, drop.busy, drop.kits) == (3, 1, [])
    assert [capture.name for capture in asking_captures()] == ["a"]
    assert drifting_rounds() == []
    drifting = round_of(kit, warnings=["The battery nears its limit."])
    assert drifting_rounds() == [drifting]
