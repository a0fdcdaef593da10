"""Acts on ticked rows: names and count stand first, each row is done by itself, and what was not
done is said.
"""

import re

import pytest
from django.urls import reverse

from rentals.models import Kit
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.rentals.paper.reading import text_of as pdf_text

pytestmark = pytest.mark.django_db


def shown(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_ticked_kits_are_held_and_those_not_in_the_house_are_named(signed_in):
    free, packed = complete_kit(), packed_loan().kit
    address = (
        f"{reverse('rentals:kits_hold')}?code={free.code}&code={packed.code}&code=%00&next=/kits/"
    )
    page = signed_in.get(address)
    assert "Hold 1 kit" in shown(page) and "Not held: they are not in the house" in shown(page)
    assert ", packed, Viola Tester" in page.context["page"].affected[1].names[0]
    assert signed_in.post(address, {"reason": ""}).status_code == 422
    after = signed_in.post(address, {"reason": "recall", "next": "/kits/"}, follow=True)
    assert "Held: 1 kit." in shown(after)
    assert [kit.state for kit in Kit.objects.order_by("pk")] == ["held", "packed"]
    nothing = signed_in.get(
        f"{reverse('rentals:kits_hold')}?code={packed.code}&next=/kits/%3Fstate=packed", follow=True
    )
    student = packed.loans.get().enrolment.student.name
    assert "No kit that can be held was ticked: " in shown(nothing)
    assert f", packed, {student}." in shown(nothing)
    assert nothing.redirect_chain == [(f"/kits/?state=packed&ticked={packed.code}", 302)]
    (tick,) = re.findall(f'value="{packed.code}" data-tick( checked)?', shown(nothing))
    assert tick


def test_ticked_parts_are_moved_and_fitted_ones_stay(signed_in):
    loose, fitted = spare("charger"), complete_kit().parts.first()
    address = f"{reverse('rentals:parts_move')}?code={loose.code}&code={fitted.code}"
    assert "take them out of their kits first" in shown(signed_in.get(address))
    after = signed_in.post(address, {"to": "repair", "reason": "hums"}, follow=True)
    assert "Moved: 1 part." in shown(after)
    loose.refresh_from_db()
    assert loose.place == "repair"
    nothing = signed_in.get(f"{reverse('rentals:parts_move')}?code={fitted.code}", follow=True)
    assert "No part that is in no kit was ticked: " in shown(nothing)
    assert nothing.redirect_chain[0][0].endswith(f"?ticked={fitted.code}")


@pytest.fixture
def run():
    return CourseRunFactory()


def on_run(run, make):
    return make(complete_kit(run.kit_type), EnrolmentFactory(run=run))


def test_ticked_parcels_leave_each_with_its_number(signed_in, run):
    first, second, not_packed = (
        on_run(run, make) for make in (packed_loan, packed_loan, assigned_loan)
    )
    ticked = "&".join(f"enrolment={loan.enrolment_id}" for loan in (first, second, not_packed))
    address = f"{reverse('rentals:run_dispatch', args=[run.pk])}?{ticked}"
    page = shown(signed_in.get(address))
    assert "Dispatch 2 parcels" in page and "Not dispatched, because they are not packed" in page
    sent = {f"number_{first.pk}": "AB 12", f"number_{second.pk}": "", "carrier": "parcel post"}
    complete = second.kit.parts.first()
    complete.damaged = True
    complete.save()
    after = shown(signed_in.post(address, sent, follow=True))
    assert "On the way: 1 parcel." in after
    assert f"Not done: Kit {second.kit.code} may not go out." in after
    first.refresh_from_db()
    assert (first.stage, first.tracking_number, first.carrier) == ("away", "AB12", "parcel post")
    second.refresh_from_db()
    assert second.stage == "packed"
    bare = reverse("rentals:run_dispatch", args=[run.pk])
    assert "No packed parcel was ticked" in shown(signed_in.get(bare, follow=True))
    unfit = signed_in.get(f"{bare}?enrolment={not_packed.enrolment_id}", follow=True)
    assert f"Pack first: {not_packed.enrolment.student.name}, assigned." in shown(unfit)
    assert f'value="{not_packed.enrolment_id}" data-tick checked' in shown(unfit)


def test_assigning_mailing_and_printing_keep_to_the_ticked(signed_in, run):
    one, two = EnrolmentFactory(run=run), EnrolmentFactory(run=run)
    for _ in range(2):
        complete_kit(run.kit_type)
    address = f"{reverse('rentals:run_assign', args=[run.pk])}?enrolment={two.pk}"
    page = signed_in.get(address)
    assert one.student.name not in shown(page)
    code = page.context["rows"][0].kit.code
    after = signed_in.post(address, {f"kit_{two.pk}": code})
    assert after.url == run.get_absolute_url()
    assert not one.loans.exists() and two.loans.get().kit.code == code
    assert "All of them have a kit" in shown(signed_in.get(address))
    loan = on_run(run, packed_loan)
    mail = f"{reverse('rentals:run_mail', args=[run.pk])}?occasion=packing_list"
    ticked = shown(signed_in.get(f"{mail}&enrolment={loan.enrolment_id}"))
    assert loan.enrolment.student.name in ticked and one.student.name not in ticked
    assert f"enrolment={loan.enrolment_id}&amp;occasion=statement" in ticked.replace(
        f"occasion=statement&amp;enrolment={loan.enrolment_id}",
        f"enrolment={loan.enrolment_id}&amp;occasion=statement",
    )
    papers = reverse("rentals:run_packing_lists", args=[run.pk])
    printed = pdf_text(signed_in.get(f"{papers}?enrolment={loan.enrolment_id}").content)
    assert loan.enrolment.student.name in printed and two.student.name not in printed
