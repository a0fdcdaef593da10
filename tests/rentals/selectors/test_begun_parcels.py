"""Which open packing lists hold a line, and how far their parcels are."""

import pytest

from rentals.actions.pack import tick
from rentals.selectors.begun_parcels import parcels_with
from tests.factories import assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_parcels_that_are_not_closed_are_named_with_what_is_ticked(django_assert_num_queries):
    loan = assigned_loan()
    kit_type = loan.kit.kit_type
    packed_loan(complete_kit(kit_type))
    assigned_loan()
    band = kit_type.lines.get(name="Wrist band")
    (parcel,) = parcels_with(band)
    assert (parcel.loan_pk, parcel.begun) == (loan.pk, False)
    tick(loan.packing_lines.get(name="Lead set"))
    with django_assert_num_queries(1):
        (parcel,) = parcels_with(band)
    assert parcel.begun
    assert str(parcel).endswith(f"{loan.enrolment.student.name}: 1 of 8 lines ticked")
