"""The pages of the bench: what they say, page and part, and how many queries they take."""

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from readiness.actions.upload import store_upload
from readiness.models import Capture, Upload
from rentals.actions.issue import retire
from rentals.actions.register import swap_part
from rentals.codes import make_code
from rentals.models import Kit, PartKind
from tests.factories import KitTypeFactory, complete_kit, spare
from tests.hour import most
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file, kit_files

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def url(name, *args):
    return reverse(f"readiness:{name}", args=args)


def html(client, address, status=200, **headers):
    answer = client.get(address, headers=headers)
    assert answer.status_code == status
    return answer.content.decode()


def test_every_page_asks_for_sign_in(kit, owner):
    upload = store_upload(kit_files(kit.code))
    capture = upload.captures.first().pk
    pages = [
        url("bench"),
        url("batch", upload.pk),
        url("capture", capture),
        url("capture_file", capture),
        url("columns", capture),
        url("kit_bench", kit.code),
        url("kit_panel", kit.code),
        url("round", kit.code),
        url("plan", kit.kit_type_id),
        url("timer", "flex"),
    ]
    for page in pages:
        answer = Client().get(page)
        assert answer.status_code == 302, page
        assert reverse("account_login") in answer.url


def test_the_bench_lists_kits_that_wait_with_what_they_lack(signed_in, kit):
    store_upload([capture_file("a.csv", capture_bytes("still", kit=kit.code))])
    page = html(signed_in, url("bench"))
    assert kit.code in page
    assert "To record: flex, lift." in page


def test_the_bench_says_when_nothing_waits(signed_in):
    assert "No kit waits for the bench" in html(signed_in, url("bench"))


def test_the_scan_box_of_the_bench_opens_the_kit(signed_in, kit):
    answer = signed_in.get(url("bench"), {"kit": kit.code.lower()})
    assert (answer.status_code, answer.url) == (302, url("kit_at_hand", kit.code))
    assert signed_in.get(answer.url).url == url("round", kit.code)
    for part in kit.parts.all():
        for scanned in (part.code, part.serial):
            assert signed_in.get(url("bench"), {"kit": scanned}).url == answer.url
    loose = spare(kit.parts.first().kind)
    assert "is in no kit" in html(signed_in, url("bench") + f"?kit={loose.code}")
    assert "There is no kit" in html(signed_in, url("bench") + f"?kit={make_code('K', 7777)}")
    assert "is not a code" in html(signed_in, url("bench") + "?kit=violin")


def test_a_drop_lists_the_worst_first_each_with_one_action(signed_in, kit):
    files = kit_files(kit.code, faults=INTERMITTENT_B)
    files.append(capture_file("unknown.csv", capture_bytes("still", seed=8, drop=("kit",))))
    files.append(capture_file("junk.csv", b"junk"))
    upload = store_upload(files)
    page = html(signed_in, upload.get_absolute_url())
    table = page[page.index("<table") :]
    order = [
        table.index(name)
        for name in (f"{kit.code} flex.csv", "unknown.csv", "junk.csv", f"{kit.code} still.csv")
    ]
    assert order == sorted(order)
    assert table.count('class="do"') == 5
    lead_set = kit.parts.get(kind=PartKind.LEAD_SET)
    assert reverse("rentals:kit_swap", args=[kit.code, lead_set.code]) in table
    assert "Replace lead B" in table


def test_after_a_swap_nothing_asks_to_replace_the_lead_again(signed_in, kit):
    upload = store_upload(kit_files(kit.code, faults=INTERMITTENT_B))
    old, new = kit.parts.get(kind=PartKind.LEAD_SET), spare(PartKind.LEAD_SET)
    swap_part(kit, old, new)
    capture = upload.captures.get(test="flex")
    page = html(signed_in, capture.get_absolute_url())
    assert reverse("rentals:kit_swap", args=[kit.code, old.code]) not in page
    assert "The lead set was swapped on" in page
    assert "Test again</a>" in page
    address = reverse("readiness:kit_panel", args=[kit.code])
    panel = html(signed_in, address, **{"HX-Request": "true"})
    assert panel.index("Test again.") < panel.index("<details>") < panel.index("lead B")


def test_a_drop_in_work_polls_and_a_finished_one_does_not(signed_in, kit):
    upload = store_upload(kit_files(kit.code))
    assert "hx-trigger" not in _batch(html(signed_in, upload.get_absolute_url()))
    Capture.objects.filter(upload=upload, test="lift").update(status="waiting")
    part = html(signed_in, upload.get_absolute_url(), **{"HX-Request": "true"})
    assert "<html" not in part
    assert part.strip().startswith('<div id="batch"')
    assert 'hx-trigger="every 2s"' in part
    assert "<b data-progress-done>2</b> of <b data-progress-total>3</b>" in part


def _batch(page):
    return page[page.index('<div id="batch"') : page.index("</main>")]


def test_a_page_from_the_browsers_history_comes_whole(signed_in, kit):
    upload = store_upload(kit_files(kit.code))
    headers = {"HX-Request": "true", "HX-History-Restore-Request": "true"}
    answer = signed_in.get(upload.get_absolute_url(), headers=headers)
    assert "<html" in answer.content.decode()
    assert "HX-Request" in answer["Vary"]


def test_questions_that_come_up_later_load_the_page_anew(signed_in, kit):
    upload = store_upload([capture_file("a.csv", capture_bytes("still", drop=("kit",)))])
    address = upload.get_absolute_url()
    late = signed_in.get(address + "?asked=0", headers={"HX-Request": "true"})
    known = signed_in.get(address + "?asked=1", headers={"HX-Request": "true"})
    assert late["HX-Refresh"] == "true"
    assert "HX-Refresh" not in known


def test_a_drop_shows_what_a_dead_worker_left_once_the_clock_took_it_up(signed_in, kit):
    upload = store_upload(kit_files(kit.code))
    long_ago = timezone.now() - timezone.timedelta(hours=1)
    Capture.objects.filter(test="lift").update(status="scoring", claimed_at=long_ago, attempts=1)
    assert "All 3 files scored" not in html(signed_in, upload.get_absolute_url())
    call_command("tick", verbosity=0)
    assert "All 3 files scored" in html(signed_in, upload.get_absolute_url())


def test_a_capture_shows_scores_findings_measurements_and_its_file(signed_in, kit):
    upload = store_upload(kit_files(kit.code, faults=INTERMITTENT_B))
    flex = upload.captures.get(test="flex")
    page = html(signed_in, flex.get_absolute_url())
    for words in (
        "Replace lead B",
        "Largest abrupt jump",
        "Battery at the end",
        "SHA-256",
        kit.code,
        "Set it aside",
    ):
        assert words in page
    data = signed_in.get(url("capture_file", flex.pk))
    assert b"".join(data.streaming_content) == capture_bytes(
        "flex", kit=kit.code, faults=INTERMITTENT_B
    )
    assert data["Content-Disposition"].startswith("attachment")


@pytest.mark.parametrize("test", ["still", "lift", "worn", "ground"])
def test_every_test_has_its_plots(signed_in, kit, test):
    capture = store_upload(
        [capture_file("a.csv", capture_bytes(test, kit=kit.code))]
    ).captures.get()
    assert html(signed_in, capture.get_absolute_url()).count("<figure") == 2


def test_a_capture_says_why_it_does_not_count(signed_in, kit):
    taken = timezone.now() - timezone.timedelta(days=1)
    capture = store_upload(
        [capture_file("a.csv", capture_bytes("still", kit=kit.code, taken=taken))]
    ).captures.get()
    assert "Taken before the last part was fitted" in html(signed_in, capture.get_absolute_url())
    assert "Taken before the last part was fitted" in html(signed_in, url("kit_bench", kit.code))


def test_a_kit_that_is_not_at_the_bench_says_once_that_nothing_counts(signed_in, kit):
    store_upload(kit_files(kit.code))
    retire(Kit.objects.get(pk=kit.pk), reason="Too old")
    page = html(signed_in, url("kit_bench", kit.code))
    assert page.count("captures count when it is at the bench") == 1
    assert "Nothing found against it." in page


def test_a_kit_shows_its_round_and_what_is_missing(signed_in, kit):
    store_upload([capture_file("a.csv", capture_bytes("still", kit=kit.code))])
    page = html(signed_in, url("kit_bench", kit.code))
    assert "Still to be tested: flex, lift." in page
    assert "Record flex" in page
    assert "No lead is proven yet" in page


def test_a_kit_that_is_fit_says_which_leads_are_proven(signed_in, kit):
    store_upload(kit_files(kit.code))
    page = html(signed_in, url("kit_bench", kit.code))
    assert "Leads proven: A, B, ground." in page
    panel = html(signed_in, url("kit_panel", kit.code), **{"HX-Request": "true"})
    assert panel.strip().startswith('<div id="kit-bench"')
    assert "All tests of the plan passed." in panel


def test_a_kit_never_tested_says_so(signed_in, kit):
    assert "Never on the bench so far." in html(signed_in, url("kit_panel", kit.code))
    assert "Nothing was tested since" in html(signed_in, url("kit_bench", kit.code))


def test_the_battery_form_scores_again_and_clears(signed_in, kit):
    store_upload(kit_files(kit.code, battery_v=None))
    assert "Battery reading" in html(signed_in, url("kit_bench", kit.code))
    refused = signed_in.post(url("kit_battery", kit.code), {"volts": "40"})
    assert refused.status_code == 422
    assert "Give 15 or less" in refused.content.decode()
    assert signed_in.post(url("kit_battery", kit.code), {"volts": "2.7"}).status_code == 302
    kit.refresh_from_db()
    assert kit.cleared


def test_clearing_on_request_says_what_stands_against_it(signed_in, kit):
    answer = signed_in.post(url("kit_clear", kit.code))
    assert "no capture that counts" in answer.content.decode()


def test_setting_aside_needs_a_sentence(signed_in, kit):
    capture = store_upload(kit_files(kit.code)).captures.first()
    short = signed_in.post(url("capture_aside", capture.pk), {"reason": "oops"})
    assert short.status_code == 422
    assert "Say in a sentence" in short.content.decode()
    assert (
        signed_in.post(
            url("capture_aside", capture.pk), {"reason": "The bar was dropped."}
        ).status_code
        == 302
    )
    capture.refresh_from_db()
    assert capture.set_aside == "The bar was dropped."
    undo = reverse("readiness:capture_count_again", args=[capture.pk])
    assert undo in signed_in.get(capture.get_absolute_url()).content.decode()
    signed_in.post(undo)
    capture.refresh_from_db()
    assert capture.set_aside == ""


@pytest.mark.parametrize("test", ["still", "flex", "lift", "ground", "worn"])
def test_the_timer_prints_its_windows_without_a_script(signed_in, kit, test):
    page = html(signed_in, url("timer", test) + f"?kit={kit.code}")
    assert f"{kit.code} {test}.csv" in page
    assert page.count("data-start=") >= 1


def test_pages_that_do_not_exist(signed_in, db):
    for address in (
        url("batch", 999),
        url("capture", 999),
        url("timer", "dance"),
        url("kit_bench", make_code("K", 8888)),
        url("kit_bench", "violin"),
        url("plan", 999),
        url("columns", 999),
    ):
        html(signed_in, address, status=404)


def test_queries_do_not_grow_with_the_kits(signed_in, django_assert_max_num_queries):
    kit_type = KitTypeFactory()
    for _ in range(2):
        complete_kit(kit_type, cleared=False)
    with django_assert_max_num_queries(20) as few:
        html(signed_in, url("bench"))
    for _ in range(most(8, 20)):
        complete_kit(kit_type, cleared=False)
    with django_assert_max_num_queries(len(few.captured_queries)):
        html(signed_in, url("bench"))


def many_captures(kit, count):
    upload = Upload.objects.create(at=timezone.now())
    Capture.objects.bulk_create(
        Capture(
            upload=upload,
            name=f"{n}.csv",
            size=9,
            sha256=f"{kit.pk:032d}{n:032d}",
            kit=kit,
            test="still",
            taken=timezone.now(),
            status="unreadable",
            refusal="No rows of numbers.",
            lead_set=kit.parts.first(),
        )
        for n in range(count)
    )
    return upload


def test_queries_do_not_grow_with_the_files(signed_in, django_assert_max_num_queries):
    kit, other = complete_kit(), complete_kit()
    few, many = many_captures(kit, 2), many_captures(other, 60)
    for first, second in (
        (few.get_absolute_url(), many.get_absolute_url()),
        (url("kit_bench", kit.code), url("kit_bench", other.code)),
    ):
        html(signed_in, second)
        html(signed_in, first)
        with django_assert_max_num_queries(30) as taken:
            html(signed_in, first)
        with django_assert_max_num_queries(len(taken.captured_queries) + 1):
            html(signed_in, second)


def test_a_long_drop_is_paged(signed_in):
    upload = many_captures(complete_kit(), 60)
    assert "1 to 50 of 60" in html(signed_in, upload.get_absolute_url())
    assert "51 to 60 of 60" in html(signed_in, upload.get_absolute_url() + "?page=2")


def test_files_that_lack_a_fact_stay_in_sight_whatever_was_dropped_since(signed_in, kit):
    store_upload([capture_file("whose.csv", capture_bytes("still", drop=("kit",)))])
    for n in range(9):
        store_upload([capture_file(f"{n}.csv", capture_bytes("flex", kit=kit.code, seed=n))])
    page = html(signed_in, url("bench"))
    assert "Files that lack a fact" in page
    assert "whose.csv" in page


def test_all_drops_are_listed_and_paged(signed_in, django_assert_max_num_queries):
    assert "Nothing was dropped so far" in html(signed_in, url("drops"))
    Upload.objects.bulk_create(Upload(at=timezone.now()) for _ in range(55))
    with django_assert_max_num_queries(8):
        assert "1 to 50 of 55" in html(signed_in, url("drops"))
