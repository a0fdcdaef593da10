"""The page of a guided round: its sequence, its files together, confirmed once."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from readiness.models import Capture, GuidedRound
from tests.factories import complete_kit, packed_loan
from tests.readiness.captures import DEFAULT, capture_bytes, capture_file
from tests.readiness.rounds import unnamed_file, unnamed_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def url(name, kit):
    return reverse(f"readiness:{name}", args=[kit.code])


def post(client, name, kit, **data):
    answer = client.post(url(name, kit), data, follow=True)
    return answer.content.decode()


def drop(client, kit, files, **data):
    return post(client, "round_drop", kit, files=files, **data)


def named_tests():
    return dict(Capture.objects.values_list("name", "test"))


def confirm(client, kit, **changed):
    """Confirm what waits as it is proposed by name, but for what is changed."""
    waiting = {capture.name: capture.pk for capture in Capture.objects.filter(status="asking")}
    chosen = dict(zip(sorted(waiting), DEFAULT, strict=False)) | changed
    data = {f"test_{waiting[name]}": test for name, test in chosen.items() if name in waiting}
    return post(client, "round_confirm", kit, **data)


def test_the_page_leads_through_all_tests_with_their_cautions(signed_in, kit):
    page = signed_in.get(url("round", kit)).content.decode()
    for words in ("Still: nothing is touched", "Flex: one lead", "Lift: one snap"):
        assert words in page
    assert page.index("Still: nothing") < page.index("Flex: one lead") < page.index("Lift: one")
    assert "Flex lead A" in page and "Hold the bar in your bare hand" in page
    assert "Run the laptop on its battery while testing. Never pull a lead by its wire." in page


def test_files_without_names_are_shown_as_proposed_and_confirmed_once(signed_in, kit):
    page = drop(signed_in, kit, unnamed_round())
    assert Capture.objects.filter(status="asking").count() == 3
    assert page.count('<option value="still" selected>') == 1
    assert "First by name: not every file has a time." in page
    assert "Confirm and score" in page
    page = confirm(signed_in, kit)
    assert "3 files are scored as confirmed." in page
    kit.refresh_from_db()
    assert kit.cleared
    assert named_tests() == {"rec 1.csv": "still", "rec 2.csv": "flex", "rec 3.csv": "lift"}
    assert "Next kit" in page and "Confirm and score" not in page


def test_the_times_that_the_page_noted_give_the_order(signed_in, kit):
    now = round(timezone.now().timestamp() * 1000)
    times = {"rec 1.csv": now + 3000, "rec 2.csv": now + 1000, "rec 3.csv": now + 2000}
    page = drop(signed_in, kit, unnamed_round(), saved_at=json.dumps(times))
    assert "First by time." in page
    rows = page.partition("<tbody>")[2]
    assert f">{timezone.localtime():%-d %b}, " in rows
    assert rows.index("rec 2.csv") < rows.index("rec 3.csv") < rows.index("rec 1.csv")


@pytest.mark.parametrize("noted", ["[]", "{", "x" * 30_000, '{"rec 1.csv": "soon"}', "[" * 9999])
def test_nonsense_for_times_is_as_good_as_none(signed_in, kit, noted):
    assert "by name" in drop(signed_in, kit, unnamed_round(), saved_at=noted)


def test_a_wrong_proposal_is_changed_before_it_is_confirmed(signed_in, kit):
    drop(signed_in, kit, unnamed_round())
    confirm(signed_in, kit, **{"rec 1.csv": "flex", "rec 2.csv": "still"})
    assert named_tests() == {"rec 1.csv": "flex", "rec 2.csv": "still", "rec 3.csv": "lift"}


def test_one_file_too_many_is_left_out_and_kept(signed_in, kit):
    page = drop(signed_in, kit, [*unnamed_round(), unnamed_file("rec 4.csv", seed=4)])
    assert "4 files for 3 tests: 1 is left out below." in page
    page = confirm(signed_in, kit, **{"rec 4.csv": ""})
    assert "3 files are scored as confirmed. 1 file is left out, and asks for its kit" in page
    extra = Capture.objects.get(name="rec 4.csv")
    assert (extra.status, "round_kit" in extra.declared) == ("asking", False)
    assert "rec 4.csv" not in page
    assert "rec 4.csv" in signed_in.get(reverse("readiness:bench")).content.decode()


def test_too_few_files_say_what_lacks_and_the_rest_can_follow(signed_in, kit):
    first, second, third = unnamed_round()
    signed_in.post(url("round_begin", kit))
    page = drop(signed_in, kit, [first, second])
    assert "No file for lift yet." in page
    confirm(signed_in, kit)
    assert GuidedRound.objects.get().ended_at is None
    page = drop(signed_in, kit, [third])
    assert page.count('<option value="lift" selected>') == 1
    assert "No file for" not in page
    confirm(signed_in, kit, **{"rec 3.csv": "lift"})
    kit.refresh_from_db()
    assert kit.cleared and GuidedRound.objects.get().ended_at


def test_what_cannot_be_proposed_says_why_and_what_to_do(signed_in, kit):
    other = complete_kit(cleared=False)
    still = unnamed_file("rec 1.csv")
    files = [
        still,
        capture_file("again.csv", capture_bytes("still", drop=("kit", "test"))),
        capture_file("rec 2.csv", capture_bytes("flex", kit=other.code)),
        capture_file("junk.csv", b"junk"),
        capture_file("empty.csv", b""),
    ]
    page = drop(signed_in, kit, files)
    assert "These are the same bytes as rec 1.csv" in page
    assert "and it came with the round of kit" in page
    assert "no row of numbers" in page and "Record this test again and drop it too." in page
    assert "The file is empty." in page
    assert page.count('<option value="still" selected>') == 1
    assert not other.captures.filter(status="scored").exists()
    contrary = Capture.objects.get(name="rec 2.csv")
    answer = {f"c{contrary.pk}-kit": other.code, "next": url("round", kit)}
    signed_in.post(reverse("readiness:capture_answer", args=[contrary.pk]), answer)
    assert other.captures.get(status="scored").test == "flex"


def test_named_files_are_scored_at_once(signed_in, kit):
    files = [capture_file(f"{test}.csv", capture_bytes(test, kit=kit.code)) for test in DEFAULT[:2]]
    page = drop(signed_in, kit, [*files, unnamed_file("rec 3.csv", "lift")])
    assert kit.captures.filter(status="scored").count() == 2
    assert page.count('<option value="lift" selected>') == 1


def test_a_table_that_is_not_right_comes_again_with_what_was_chosen(signed_in, kit):
    drop(signed_in, kit, unnamed_round())
    keys = {c.name: c.pk for c in Capture.objects.all()}
    data = {f"test_{keys['rec 1.csv']}": "juggling", f"test_{keys['rec 2.csv']}": "lift"}
    answer = signed_in.post(url("round_confirm", kit), data)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "1 thing to mend" in page and "juggling" in page
    assert page.count('<option value="lift" selected>') == 1
    assert not Capture.objects.filter(status="scored").exists()
    answer = signed_in.post(url("round_confirm", kit), {})
    assert answer.status_code == 422
    assert "No file of this round waits to be confirmed" in answer.content.decode()
    assert signed_in.post(url("round_drop", kit), {}).status_code == 422


def test_the_script_begins_a_round_without_leaving_the_page(signed_in, kit):
    answer = signed_in.post(url("round_begin", kit), headers={"HX-Request": "true"})
    part = answer.content.decode()
    assert (answer.status_code, "<html" in part) == (200, False)
    assert 'hx-trigger="every 5s"' in part
    begun = GuidedRound.objects.get()
    assert (begun.kit, begun.ended_at) == (kit, None)
    page = signed_in.get(url("round", kit)).content.decode()
    assert "files in a watched folder are proposed here" in page
    assert 'hx-trigger="every 5s"' in page
    away = packed_loan().kit
    page = post(signed_in, "round_begin", away)
    assert "captures count when it is at the bench" in page
    GuidedRound.objects.update(begun_at=timezone.now() - timedelta(hours=4))
    assert "a watched folder" not in signed_in.get(url("round", kit)).content.decode()


def test_a_kit_at_hand_with_all_its_tests_shows_its_results(signed_in, kit):
    assert signed_in.get(url("kit_at_hand", kit)).url == url("round", kit)
    drop(signed_in, kit, unnamed_round())
    confirm(signed_in, kit)
    assert signed_in.get(url("kit_at_hand", kit)).url == url("kit_bench", kit)


def test_the_files_alone_are_answered_to_a_script(signed_in, kit):
    drop(signed_in, kit, unnamed_round())
    answer = signed_in.get(url("round", kit), headers={"HX-Request": "true"})
    part = answer.content.decode()
    assert "<html" not in part and 'id="round-files"' in part
    assert 'hx-swap-oob="true"' in part and "Confirm and score" in part
    assert '<span id="round-sentence" hx-swap-oob="true">Nothing was tested' in part
