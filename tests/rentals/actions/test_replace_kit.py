"""A kit that turns out faulty while the course goes on: another one stands in for it, from the
start to the end of both loans.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals import transaction
from rentals.actions.assign import assign
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import unassign
from rentals.actions.pack import pack
from rentals.actions.receive import arrive, finish_check
from rentals.actions.replace_kit import replace_kit
from rentals.actions.settle import settle
from rentals.actions.swap import give_another_kit
from rentals.errors import Refused
from rentals.models import Kit, Loan
from rentals.selectors.ledger import loan_sums
from rentals.selectors.scan import understand
from rentals.selectors.to_mend import kits_to_mend
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan
from tests.rentals.actions.acts import all_back

pytestmark = pytest.mark.django_db


def today():
    return timezone.localdate()


def swapped():
    """A loan whose kit is faulty, and the loan that stands in for it."""
    loan = dispatch(packed_loan().kit)
    back_on = today() + timedelta(days=10)
    other = complete_kit(loan.kit.kit_type)
    after = replace_kit(loan, other, fault="Lead A is dead.", due_on=back_on)
    loan.refresh_from_db()
    return loan, after


def test_from_the_fault_to_the_end_of_both_loans():
    loan, after = swapped()
    assert (after.replaces, after.enrolment, after.post_by) == (loan, loan.enrolment, today())
    assert after.due_on > loan.due_on == today() + timedelta(days=10)
    # One deposit, carried over with what was paid of it.
    assert (loan.deposit, after.deposit) == (0, Decimal("80"))
    assert loan_sums(after).deposit_open == 0 and loan_sums(loan).refund == 0
    assert after.kit.code in str(understand(loan.enrolment.student.name).matches[0].detail)
    with pytest.raises(Refused, match="already has kit"):
        assign(complete_kit(loan.kit.kit_type), loan.enrolment)
    with pytest.raises(Refused, match="replaced already"):
        again = complete_kit(loan.kit.kit_type)
        replace_kit(loan, again, fault="Again.", due_on=after.due_on)
    assert kits_to_mend([loan.kit.kit_type_id]) == {
        loan.kit.code: "It comes back as faulty: Lead A is dead."
    }
    with transaction.atomic():
        after.packing_lines.update(ticked_at=timezone.now())
    pack(after.kit)
    dispatch(after.kit)
    assert verify() == []
    for kit in (loan.kit, after.kit):
        check = arrive(kit)
        all_back(check)
        settle(finish_check(check))
    faulty = Kit.objects.get(pk=loan.kit_id)
    assert (faulty.state, faulty.cleared) == ("bench", False)
    assert faulty.not_cleared_reason == (
        "It was sent back as faulty: Lead A is dead. Mend that, then test it."
    )
    assert faulty.code in kits_to_mend([faulty.kit_type_id])
    after.refresh_from_db()
    assert after.stage == "settled" and loan_sums(after).refund == Decimal("80")
    assert verify() == []


def test_taking_it_back_before_the_dispatch_leaves_all_as_it_was():
    loan, after = swapped()
    third = complete_kit(loan.kit.kit_type)
    instead = give_another_kit(after, third)
    assert instead.replaces_id == loan.pk and instead.kit == third
    assert verify() == []
    unassign(third)
    loan.refresh_from_db()
    assert (loan.fault, loan.due_on, loan.deposit) == ("", instead.due_on, Decimal("80"))
    assert loan_sums(loan).deposit_open == 0
    assert verify() == []
    Loan.objects.filter(pk=loan.pk).update(fault="Nobody said so.")
    assert len(verify()) == 2


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"fault": " "}, "Say what is wrong"),
        ({"due_on": today() - timedelta(days=1)}, "before today"),
    ],
)
def test_a_refusal_changes_nothing(facts, sentence):
    loan = dispatch(packed_loan().kit)
    kit = complete_kit(loan.kit.kit_type)
    with pytest.raises(Refused, match=sentence):
        replace_kit(loan, kit, **({"fault": "Dead.", "due_on": today()} | facts))
    arrive(loan.kit)
    with pytest.raises(Refused, match="a student who has it"):
        replace_kit(loan, kit, fault="Dead.", due_on=today())
