"""What is proposed for a shortfall follows its part's age and its kit type's line."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.models import ContentsLine, Part
from rentals.selectors.charging import charge_proposal
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_age_and_life_bring_the_price_down():
    short = shortfall_of("charger")
    assert charge_proposal(short).amount == 22
    ContentsLine.objects.filter(part_kind="charger").update(life_months=24, residual_percent=0)
    assert "age is not known" in charge_proposal(short).words
    bought = timezone.localdate(short.opened_at) - timedelta(days=370)
    Part.objects.filter(kind="charger").update(bought_on=bought)
    short.packing_line.refresh_from_db()
    proposal = charge_proposal(short)
    assert proposal.amount == Decimal("11.00")
    assert "12 months old of a life of 24 months" in proposal.words


def test_counted_pieces_have_no_age_and_a_line_that_is_gone_no_life():
    short = shortfall_of("band")
    ContentsLine.objects.filter(part_kind="band").delete()
    proposal = charge_proposal(short)
    assert proposal.amount == 6
    assert "€3.00 for each of 2 pieces" in proposal.words
