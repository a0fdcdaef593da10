"""Today and the scan box."""

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import Loan
from rentals.selectors.scan import understand
from tests.factories import (
    StockItemFactory,
    StudentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)

pytestmark = pytest.mark.django_db


def test_an_empty_desk_says_where_to_start(signed_in):
    page = signed_in.get("/").content.decode()
    assert "This desk is empty" in page
    assert reverse("rentals:kit_types") in page


def test_today_names_each_piece_of_work_with_its_one_action(signed_in):
    to_pack, packed, away = assigned_loan(), packed_loan(), packed_loan()
    dispatch(away.kit)
    Loan.objects.filter(pk=away.pk).update(
        post_by=timezone.localdate() - timezone.timedelta(days=90),
        due_on=timezone.localdate() - timezone.timedelta(days=3),
    )
    back = packed_loan()
    arrive(dispatch(back.kit).kit)
    fresh = complete_kit(cleared=False)
    StockItemFactory(name="Swabs", on_hand=2, reorder_point=10)
    page = signed_in.get("/").content.decode()
    for loan, act in ((to_pack, "pack_kit"), (packed, "pack_kit"), (back, "receive_kit")):
        assert reverse(f"rentals:{act}", args=[loan.kit.code]) in page
    assert away.get_absolute_url() in page
    assert "overdue by 3 days" in page
    assert fresh.code in page
    assert "2 are here, at or below your own reorder point of 10." in page


def test_today_takes_the_same_queries_however_much_work_waits(
    signed_in, django_assert_max_num_queries
):
    for _ in range(3):
        assigned_loan()
    # PostgreSQL opens its transaction with one more.
    with django_assert_max_num_queries(44) as few:
        signed_in.get("/")
    kit_type = Loan.objects.first().kit.kit_type
    for _ in range(20):
        assigned_loan(complete_kit(kit_type))
    with django_assert_max_num_queries(len(few.captured_queries)):
        signed_in.get("/")


def target(signed_in, text):
    answer = signed_in.get(reverse("rentals:scan"), {"q": text})
    return answer.url if answer.status_code == 302 else answer


def test_what_was_not_found_stays_in_the_scan_box(signed_in):
    page = target(signed_in, "K0001X").content.decode()
    assert 'value="K0001X" data-autofocus data-autoselect' in page


def test_a_kit_code_leads_to_the_kits_next_step(signed_in):
    loan = assigned_loan()
    kit = loan.kit
    assert target(signed_in, f" {kit.code.lower()} ") == reverse(
        "rentals:pack_kit", args=[kit.code]
    )
    out = packed_loan()
    dispatch(out.kit, tracking_number="RR 123 XY")
    assert target(signed_in, out.kit.code) == reverse("rentals:receive_kit", args=[out.kit.code])
    assert (
        target(signed_in, "rr123xy")
        == target(signed_in, "RR 123 XY")
        == target(signed_in, out.kit.code)
    )
    shelf = complete_kit()
    assert target(signed_in, shelf.code) == shelf.get_absolute_url()


@pytest.mark.parametrize("form", ["/s/{}/", "/S/{}", "/s/{}"])
def test_the_address_in_a_qr_code_opens_the_next_step(signed_in, form):
    kit = assigned_loan().kit
    answer = signed_in.get(form.format(kit.code))
    assert answer.url == reverse("rentals:pack_kit", args=[kit.code])


def test_a_scanned_address_is_understood_in_the_scan_box(signed_in):
    kit = complete_kit()
    assert target(signed_in, f"HTTP://DESK.EXAMPLE/S/{kit.code}") == kit.get_absolute_url()


def test_a_mistyped_code_is_refused_and_not_taken_for_another_kit(signed_in):
    kit = complete_kit()
    wrong = kit.code[:-1] + ("A" if kit.code[-1] != "A" else "B")
    answer = target(signed_in, wrong)
    assert answer.status_code == 404
    assert wrong in answer.content.decode()
    assert understand(wrong).matches == ()


def test_a_part_code_a_serial_and_a_name_are_found(signed_in):
    loan = assigned_loan()
    part = loan.kit.parts.first()
    assert target(signed_in, part.code) == part.get_absolute_url()
    assert target(signed_in, part.serial) == part.get_absolute_url()
    student, run = loan.enrolment.student, loan.enrolment.run
    assert target(signed_in, student.name.upper()) == student.get_absolute_url()
    assert target(signed_in, run.name[3:]) == run.get_absolute_url()


def test_what_can_be_typed_is_said_where_nothing_was_found(signed_in):
    page = target(signed_in, "zzz").content.decode()
    for words in ("“zzz” is no tracking number", "any part of a student", "any part of a run"):
        assert words in page


def test_a_long_list_of_matches_has_pages(signed_in):
    for number in range(30):
        StudentFactory(name=f"Viola {number:02d}")
    first = target(signed_in, "viola").content.decode()
    assert "1 to 20 of 30" in first and "Viola 29" not in first
    second = signed_in.get(reverse("rentals:scan"), {"q": "viola", "page": 2}).content.decode()
    assert "Viola 29" in second


def test_several_that_fit_are_listed(signed_in):
    assigned_loan()
    assigned_loan()
    answer = target(signed_in, "viola")
    assert answer.status_code == 200
    assert "fits 2 entries" in answer.content.decode()


@pytest.mark.parametrize(
    "text", ["", "  ", "x" * 5000, "\x00", "'; DROP TABLE", "<script>", "😀", "%", "K0001"]
)
def test_nonsense_is_answered_in_words(signed_in, text):
    spare("amplifier")
    answer = target(signed_in, text)
    assert answer.status_code in (200, 404)
    assert "<script>alert" not in answer.content.decode()


def test_strangers_see_nothing(client):
    for address in ("/", "/scan/?q=K", "/kits/", "/stock/", "/setup/"):
        answer = client.get(address)
        assert answer.status_code == 302


def test_codes_on_today_and_in_a_choice_lead_to_the_kit_or_part(signed_in):
    loan = assigned_loan()
    page = signed_in.get("/").content.decode()
    assert f'<a class="code" href="{loan.kit.get_absolute_url()}">' in page
    other = assigned_loan()
    page = signed_in.get(reverse("rentals:scan"), {"q": "Viola"}).content.decode()
    for one in (loan, other):
        assert f'<a class="code" href="{one.kit.get_absolute_url()}">' in page
    parts = [spare("charger", serial="TWIN-1"), spare("amplifier", serial="TWIN-1")]
    page = signed_in.get(reverse("rentals:scan"), {"q": "TWIN-1"}).content.decode()
    assert all(f'<a class="code" href="{part.get_absolute_url()}">' in page for part in parts)
