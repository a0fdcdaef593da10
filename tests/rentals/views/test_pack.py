"""The packing bench: queue, list, scans, gate, packing."""

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kitdesk.roles.role import DeskRole
from rentals.actions.issue import refuse_clearance
from rentals.actions.packing_list import draw_up
from rentals.actions.register import swap_part
from rentals.models import ElectrodeBatch, Loan, LoanStage, StockItem
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.kitdesk.roles.people import client_of
from tests.rentals.views.packing import at, do, text_of, tick_all

pytestmark = pytest.mark.django_db


def test_the_queue_stands_by_post_by_date_and_says_what_is_late(signed_in: Client) -> None:
    today = timezone.localdate()
    later, late, now = assigned_loan(), packed_loan(), assigned_loan()
    Loan.objects.filter(pk=late.pk).update(post_by=today - timedelta(days=1))
    Loan.objects.filter(pk=now.pk).update(post_by=today)
    page = signed_in.get(reverse("rentals:pack"))
    rows = page.context["rows"]
    assert [(row.loan, row.post_mark and row.post_mark.word, row.next.act) for row in rows] == [
        (late, "late", "Dispatch"),
        (now, "today", "Pack"),
        (later, None, "Pack"),
    ]
    found = signed_in.get(reverse("rentals:pack"), {"q": later.enrolment.student.name})
    assert [row.loan for row in found.context["rows"]] == [later]


def test_an_empty_queue_says_what_comes_first(signed_in: Client) -> None:
    assert "Nothing to pack" in text_of(signed_in.get(reverse("rentals:pack")))


def test_the_list_is_grouped_by_inner_bag_in_packing_order(signed_in: Client) -> None:
    loan = assigned_loan()
    sheet = signed_in.get(at(loan.kit)).context["sheet"]
    assert [bag.name for bag in sheet.bags] == ["instrument bag", "small bag", "lead bag", ""]
    assert [row.line.name for row in sheet.bags[0].rows] == ["Amplifier", "Battery pack", "Charger"]
    # 180 + 12 + 60 + 30 + 90 g, 24 electrodes of 2 g, 2 bands of 15 g, a box of 210 g.
    assert (sheet.done, sheet.total, sheet.mass_g) == (0, 8, 660)


def test_a_row_is_ticked_and_unticked_without_a_script(signed_in: Client) -> None:
    loan = assigned_loan()
    signed_in.get(at(loan.kit))
    line = loan.packing_lines.first()
    shown = text_of(do(signed_in, loan.kit, "pack_tick", tick=line.pk))
    assert "<b data-progress-done>1</b> of <b data-progress-total>8</b>" in shown
    assert "Still missing:</b> Licence key <span class" in shown
    do(signed_in, loan.kit, "pack_tick", tick=line.pk)
    assert loan.packing_lines.filter(ticked_at__isnull=False).count() == 1
    do(signed_in, loan.kit, "pack_tick", untick=line.pk)
    assert not loan.packing_lines.filter(ticked_at__isnull=False).exists()


def test_with_a_script_only_what_changed_comes_back(signed_in: Client) -> None:
    loan = assigned_loan()
    signed_in.get(at(loan.kit))
    answer = do(signed_in, loan.kit, "pack_tick", htmx=True, tick=loan.packing_lines.first().pk)
    said = answer.content.decode()
    assert (
        "<html" not in said and 'aria-pressed="true"' in said and said.count("checklist-row") == 1
    )
    assert said.count("hx-swap-oob") == 5
    assert "HX-Request" in answer["Vary"]


def test_a_list_that_was_drawn_up_anew_is_shown_again(signed_in: Client) -> None:
    loan = assigned_loan()
    shown = signed_in.get(at(loan.kit)).context["sheet"].edition
    stale = loan.packing_lines.first().pk
    old = loan.kit.parts.get(kind="charger")
    swap_part(loan.kit, old, spare("charger"))
    code = loan.kit.parts.get(kind="lead_set").code
    answer = do(signed_in, loan.kit, "pack_scan", htmx=True, scan=code, edition=shown)
    assert answer["HX-Redirect"] == at(loan.kit)
    assert do(signed_in, loan.kit, "pack_tick", htmx=True, tick=stale)["HX-Redirect"] == at(
        loan.kit
    )
    shown = text_of(do(signed_in, loan.kit, "pack_tick", tick=stale))
    assert "The packing list has changed" in shown and "1</b> of" in shown


def test_scans_tick_and_a_wrong_part_says_whose_it_is(signed_in: Client) -> None:
    loan, other = assigned_loan(), complete_kit()
    own = loan.kit.parts.get(kind="lead_set")
    foreign = other.parts.get(kind="lead_set")
    assert f"Lead set {own.code} ticked." in text_of(
        do(signed_in, loan.kit, "pack_scan", scan=own.code.lower())
    )
    again = do(signed_in, loan.kit, "pack_scan", htmx=True, scan=own.code)
    assert "was ticked already" in text_of(again)
    wrong = do(signed_in, loan.kit, "pack_scan", scan=foreign.code)
    assert f"Wrong part: Lead set {foreign.code} belongs to kit {other.code}." in text_of(wrong)
    elsewhere = do(signed_in, loan.kit, "pack_scan", htmx=True, scan=other.code)
    assert elsewhere["HX-Redirect"] == other.get_absolute_url()
    for nonsense in ("P0001", "", "x" * 3000):
        response = do(signed_in, loan.kit, "pack_scan", htmx=True, scan=nonsense)
        assert response.status_code == 200 and 'role="alert"' in response.content.decode()
    assert loan.packing_lines.filter(ticked_at__isnull=False).count() == 1


def test_packing_names_what_is_not_ticked_then_takes_stock_and_freezes(signed_in: Client) -> None:
    loan = assigned_loan()
    signed_in.get(at(loan.kit))
    refused = text_of(do(signed_in, loan.kit, "pack_close", parcel_mass_g="700"))
    assert "8 not ticked yet: Amplifier" in refused and 'value="700"' in refused
    tick_all(signed_in, loan)
    shown = text_of(do(signed_in, loan.kit, "pack_close", parcel_mass_g="712"))
    loan.refresh_from_db()
    assert (loan.stage, loan.parcel_mass_g) == (LoanStage.PACKED, 712)
    assert loan.packing_list_hash
    assert ElectrodeBatch.objects.get().on_hand == 5000 - 24
    assert "Dispatch" in shown and "712" in shown


@pytest.mark.parametrize("mass", ["-1", "0", "heavy", "999999999"])
def test_a_mass_that_cannot_be_is_said_beside_the_field(signed_in: Client, mass: str) -> None:
    loan = assigned_loan()
    tick_all(signed_in, loan)
    shown = text_of(do(signed_in, loan.kit, "pack_close", parcel_mass_g=mass))
    assert 'id="id_parcel_mass_g_error"' in shown and f'value="{mass}"' in shown
    loan.refresh_from_db()
    assert loan.stage == LoanStage.ASSIGNED


def test_the_same_form_twice_packs_once(signed_in: Client) -> None:
    loan = assigned_loan()
    tick_all(signed_in, loan)
    key = str(uuid.uuid4())
    for _ in range(2):
        do(signed_in, loan.kit, "pack_close", parcel_mass_g="", form_key=key)
    assert ElectrodeBatch.objects.get().on_hand == 5000 - 24
    assert loan.kit.events.filter(verb="packed").count() == 1


def test_the_gate_says_what_lacks_and_the_owners_reason_opens_it(signed_in: Client) -> None:
    kit = complete_kit(cleared=False)
    refuse_clearance(kit, reason="Lead B breaks when it is flexed: swap the lead set.")
    loan = assigned_loan(kit)
    shown = text_of(signed_in.get(at(kit)))
    assert "This kit may not go out yet" in shown and "Lead B breaks when it is flexed" in shown
    tick_all(signed_in, loan)
    assert "Lead B breaks" in text_of(do(signed_in, kit, "pack_close"))
    short = text_of(do(signed_in, kit, "pack_override", reason="hurry"))
    assert "Write the reason in a sentence" in short and "hurry" in short
    shown = text_of(
        do(signed_in, kit, "pack_override", reason="Spare leads follow by letter today.")
    )
    assert "Issued on an override: Spare leads follow by letter today." in shown
    assert "Dispatch" in text_of(do(signed_in, kit, "pack_close"))
    loan.refresh_from_db()
    assert (
        loan.stage == LoanStage.PACKED
        and loan.override_reason == "Spare leads follow by letter today."
    )


def test_only_the_owner_overrides(owner) -> None:
    kit = complete_kit(cleared=False)
    assigned_loan(kit)
    client = client_of(DeskRole.PACKER)
    assert "Only the owner can issue it all the same" in text_of(client.get(at(kit)))
    refused = do(client, kit, "pack_override", reason="Because I would like to do so.")
    assert refused.status_code == 403
    kit.refresh_from_db()
    assert not kit.override_reason


def test_short_stock_is_named_before_and_when_packing(signed_in: Client) -> None:
    loan = assigned_loan()
    tick_all(signed_in, loan)
    expired = timezone.localdate() - timedelta(days=1)
    ElectrodeBatch.objects.update(on_hand=30, expires_on=expired)
    StockItem.objects.filter(kind="band").update(on_hand=1)
    shown = text_of(signed_in.get(at(loan.kit)))
    assert "24 needed, 0 here (30 more are expired and do not go out)" in shown
    assert "2 needed, 1 here" in shown
    assert "24 needed, 0 here. Batches that expire before" in text_of(
        do(signed_in, loan.kit, "pack_close")
    )
    loan.refresh_from_db()
    assert loan.stage == LoanStage.ASSIGNED


def test_a_line_of_another_kit_cannot_be_ticked(signed_in: Client) -> None:
    mine, other = assigned_loan(), packed_loan()
    signed_in.get(at(mine.kit))
    for number in (other.packing_lines.first().pk, "x", "", 10**30):
        do(signed_in, mine.kit, "pack_tick", tick=number)
    assert not mine.packing_lines.filter(ticked_at__isnull=False).exists()
    line = other.packing_lines.first()
    shown = do(signed_in, other.kit, "pack_tick", untick=line.pk)
    assert "frozen" in text_of(shown)


def test_codes_are_read_as_typed_and_unknown_ones_are_not_found(signed_in: Client) -> None:
    loan = assigned_loan()
    lower = reverse("rentals:pack_kit", args=[loan.kit.code.lower()])
    assert signed_in.get(lower).url == at(loan.kit)
    assert signed_in.get(reverse("rentals:pack_kit", args=["K9999Z"])).status_code == 404


def test_a_stranger_is_sent_to_the_sign_in(client: Client, owner) -> None:
    loan = assigned_loan()
    assert "login" in client.get(at(loan.kit)).url
    assert "login" in client.post(at(loan.kit, "pack_close")).url
    loan.refresh_from_db()
    assert loan.stage == LoanStage.ASSIGNED


@pytest.mark.parametrize("rows", [2, 12])
def test_the_queue_takes_the_same_few_queries(
    signed_in, django_assert_max_num_queries, rows
) -> None:
    run = CourseRunFactory()
    for _ in range(rows):
        assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    with django_assert_max_num_queries(6):
        assert len(signed_in.get(reverse("rentals:pack")).context["rows"]) == rows


@pytest.mark.parametrize("pieces", [1, 30])
def test_the_pack_page_takes_the_same_few_queries(
    signed_in, django_assert_max_num_queries, pieces
) -> None:
    loan = assigned_loan()
    line = loan.kit.kit_type.lines.get(name="Wrist band")
    for order in range(pieces):
        line.pk, line.order, line.name = None, 10 + order, f"Band {order}"
        line.save()
    draw_up(loan.kit)
    signed_in.get(at(loan.kit))
    with django_assert_max_num_queries(18):
        assert signed_in.get(at(loan.kit)).context["sheet"].total == 8 + pieces
