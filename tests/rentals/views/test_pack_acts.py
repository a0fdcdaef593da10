"""From the packed parcel to the post and back again, and kits that are not at the packing bench."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold, refuse_clearance, unassign
from rentals.actions.receive import arrive
from rentals.models import ElectrodeBatch, Kit, LoanStage, Message, PackingLine, Practice
from tests.factories import (
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)
from tests.rentals.views.packing import at, do, text_of

pytestmark = pytest.mark.django_db


def test_the_mail_with_the_packing_list_is_linked_and_can_be_drafted(signed_in: Client) -> None:
    loan = packed_loan()
    Message.objects.filter(loan=loan).delete()
    assert "Draft the mail" in text_of(signed_in.get(at(loan.kit)))
    drafted = do(signed_in, loan.kit, "pack_mail")
    mail = Message.objects.get(loan=loan, occasion="packing_list")
    assert drafted.redirect_chain[-1][0] == mail.get_absolute_url()
    assert mail.attachments.count() == 1 and mail.to_address == loan.enrolment.student.email
    assert mail.get_absolute_url() in text_of(signed_in.get(at(loan.kit)))
    free = complete_kit()
    assert "no packing list to send" in text_of(do(signed_in, free, "pack_mail"))


def test_unpacking_puts_stock_back_and_opens_the_list(signed_in: Client) -> None:
    loan = packed_loan()
    do(signed_in, loan.kit, "pack_unpack", **{"unpack-reason": "wrong charger"})
    loan.refresh_from_db()
    assert loan.stage == LoanStage.ASSIGNED
    assert ElectrodeBatch.objects.get().on_hand == 5000
    assert "wrong charger" in loan.kit.events.get(verb="unpacked").text


def test_dispatch_notes_carrier_and_number_and_can_be_undone(signed_in: Client) -> None:
    loan = packed_loan()
    shown = text_of(
        do(signed_in, loan.kit, "pack_dispatch", tracking_number="AB 12 34", carrier="Village post")
    )
    loan.refresh_from_db()
    assert (loan.stage, loan.tracking_number, loan.carrier) == (
        LoanStage.AWAY,
        "AB1234",
        "Village post",
    )
    assert f">{loan.enrolment.student.name}</a> since" in shown
    do(signed_in, loan.kit, "pack_tracking", tracking_number="AB 12 35")
    loan.refresh_from_db()
    assert loan.tracking_number == "AB1235"
    do(signed_in, loan.kit, "pack_recall", **{"recall-reason": "missed the van"})
    loan.refresh_from_db()
    assert (loan.stage, loan.dispatched_at) == (LoanStage.PACKED, None)
    second = packed_loan()
    assert signed_in.get(at(second.kit)).context["carriers"] == ["Village post"]


def test_the_rest_is_ticked_and_the_parcel_closed_and_posted_in_one_form(
    signed_in: Client,
) -> None:
    Practice.objects.create(pk=1, opens_packing_list=True)
    loan = assigned_loan()
    assert "Only counted: 24 × Gel electrodes, 2 × Wrist band, Shipping box." in text_of(
        signed_in.get(at(loan.kit))
    )
    do(signed_in, loan.kit, "pack_rest")
    refused = do(signed_in, loan.kit, "pack_close", tracking_number="AB 12", carrier="Village post")
    assert refused.status_code == 422
    shown = text_of(refused)
    assert "5 not ticked yet" in shown and 'value="AB 12"' in shown and "Only counted" not in shown
    loan.packing_lines.update(ticked_at=timezone.now())
    assert signed_in.get(at(loan.kit)).content.count(b"data-autofocus") == 1
    closed = do(signed_in, loan.kit, "pack_close", tracking_number="AB 12", carrier="Village post")
    shown = text_of(closed)
    assert f"Kit {loan.kit.code} is packed and on its way to" in shown
    assert Message.objects.get().get_absolute_url() in shown
    opened = reverse("rentals:loan_packing_list", args=[loan.pk]) + "?file=1"
    assert f'content="0;url={opened}"' in shown
    assert signed_in.get(opened)["Content-Disposition"].startswith("attachment")
    assert opened not in text_of(signed_in.get(at(loan.kit)))


def test_a_scanned_serial_ticks_and_another_kits_label_opens_that_kit(signed_in: Client) -> None:
    loan, following = assigned_loan(), packed_loan()
    charger = loan.kit.parts.get(kind="charger")
    assert f"{charger.code} ticked" in text_of(
        do(signed_in, loan.kit, "pack_scan", scan=charger.serial)
    )
    turned = do(signed_in, loan.kit, "pack_scan", scan=following.kit.code)
    assert turned.redirect_chain[-1][0] == at(following.kit)
    assert "stays as it was" in text_of(turned)
    by_script = do(signed_in, loan.kit, "pack_scan", htmx=True, scan=following.kit.code)
    assert by_script["HX-Redirect"] == at(following.kit)


def test_a_kit_in_any_other_state_says_what_it_is_and_what_is_next(signed_in: Client) -> None:
    free = complete_kit()
    run = EnrolmentFactory(run__kit_type=free.kit_type).run
    shown = text_of(signed_in.get(at(free)))
    assert "is on the shelf, cleared, and not assigned to anybody" in shown
    assert f"{run.name}" in shown and reverse("rentals:run_assign", args=[run.pk]) in shown
    untested = complete_kit(cleared=False)
    refuse_clearance(untested, reason="The noise floor is above its limit.")
    shown = text_of(signed_in.get(at(untested)))
    assert (
        "waits for the bench, is not cleared" in shown
        and "The noise floor is above its limit." in shown
    )
    hold(free, reason="Charger recalled by its maker")
    shown = text_of(signed_in.get(at(free)))
    assert (
        "is held: Charger recalled" in shown
        and reverse("rentals:kit_release", args=[free.code]) in shown
    )
    back = packed_loan()
    dispatch(back.kit)
    arrive(back.kit)
    assert "is back from" in text_of(signed_in.get(at(back.kit)))


def test_acts_in_the_wrong_state_are_refused_in_a_sentence(signed_in: Client) -> None:
    free, packed = complete_kit(), packed_loan().kit
    for kit, name, data in (
        (free, "pack_close", {}),
        (free, "pack_dispatch", {}),
        (free, "pack_unpack", {}),
        (free, "pack_scan", {"scan": "P0001X"}),
        (free, "pack_recall", {}),
        (free, "pack_tracking", {"tracking_number": "1"}),
        (free, "pack_override", {"reason": "A long enough reason."}),
        (packed, "pack_recall", {}),
        (packed, "pack_override", {"reason": "A long enough reason."}),
        (packed, "pack_scan", {"scan": "P0001X"}),
    ):
        response = do(signed_in, kit, name, **data)
        assert response.status_code == (200 if name == "pack_tracking" else 422), name
        do(signed_in, kit, name, htmx=True, **data)
    assert Kit.objects.get(pk=free.pk).state == "shelf"
    assert Kit.objects.get(pk=packed.pk).state == "packed"


@pytest.mark.parametrize("htmx", [True, False], ids=["on the open page", "without a script"])
def test_a_kit_held_or_taken_away_while_it_is_packed_says_so(signed_in: Client, htmx) -> None:
    loan = assigned_loan()
    signed_in.get(at(loan.kit))
    line, part = loan.packing_lines.first(), loan.kit.parts.first()
    hold(loan.kit, reason="wet charger")

    def page_after(name: str, **pressed: object) -> str:
        answer = do(signed_in, loan.kit, name, htmx=htmx, **pressed)
        return text_of(signed_in.get(answer.headers["HX-Redirect"]) if htmx else answer)

    for name, pressed in (("pack_tick", {"tick": line.pk}), ("pack_scan", {"scan": part.code})):
        assert "is held: wet charger" in page_after(name, **pressed)
    assert "was held meanwhile: wet charger" in page_after("pack_tick", tick=line.pk)
    loan = assigned_loan()
    signed_in.get(at(loan.kit))
    line = loan.packing_lines.first()
    unassign(loan.kit)
    assert "was taken from its student" in page_after("pack_tick", tick=line.pk)
    assert not PackingLine.objects.filter(ticked_at__isnull=False).exists()


def test_the_address_of_an_act_opened_leads_to_the_kit(signed_in: Client) -> None:
    kit = assigned_loan().kit
    for name in (
        "close",
        "tick",
        "scan",
        "rest",
        "override",
        "unpack",
        "mail",
        "dispatch",
        "recall",
        "tracking",
    ):
        assert signed_in.get(at(kit, f"pack_{name}")).url == at(kit)
    kit.refresh_from_db()
    assert kit.state == "assigned"


def test_a_row_whose_stock_does_not_reach_says_so_and_cannot_be_ticked(signed_in: Client) -> None:
    loan = assigned_loan()
    line = loan.packing_lines.get(part_kind="electrodes")
    ElectrodeBatch.objects.update(on_hand=0)
    shown = text_of(signed_in.get(at(loan.kit)))
    assert "24 needed, 0 here" in shown
    assert f'value="{line.pk}"' not in shown
    assert shown.count('class="tick-box"') == loan.packing_lines.count() - 1
    assert f'href="{line.stock_item.get_absolute_url()}">Restock' in shown
    said = f"24 needed, 0 here. Restock {line.stock_item.name} first."
    assert said in text_of(do(signed_in, loan.kit, "pack_tick", tick=line.pk))
    row = text_of(do(signed_in, loan.kit, "pack_tick", htmx=True, tick=line.pk))
    assert "24 needed, 0 here" in row and f'value="{line.pk}"' not in row
    ElectrodeBatch.objects.update(on_hand=24)
    assert f'name="tick" value="{line.pk}"' in text_of(signed_in.get(at(loan.kit)))


def test_what_expires_during_the_loan_asks_the_owner_for_a_reason(signed_in: Client) -> None:
    loan = assigned_loan()
    ElectrodeBatch.objects.update(expires_on=loan.due_on - timedelta(days=1))
    shown = text_of(signed_in.get(at(loan.kit)))
    assert "Stock that expires during the loan" in shown and "5000 more expire before" in shown
    refused = do(signed_in, loan.kit, "pack_short_dated", **{"dated-reason": "short"})
    assert refused.status_code == 422
    assert "Write the reason in a sentence" in text_of(refused)
    reason = "Nothing else is to be had before the course."
    after = text_of(do(signed_in, loan.kit, "pack_short_dated", **{"dated-reason": reason}))
    assert f"Pieces may expire during the loan: {reason}" in after
    assert "Stock that expires during the loan" not in after
    assert reason in text_of(signed_in.get(loan.get_absolute_url()))
