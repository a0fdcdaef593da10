"""One act on several things: what refuses keeps none of the others, and says why."""

import pytest

from rentals.actions.bulk import for_each
from rentals.actions.issue import hold
from rentals.errors import Refused
from rentals.models import Event
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_each_is_done_by_itself_and_those_that_refuse_are_named():
    free, packed = complete_kit(), packed_loan().kit
    outcome = for_each([packed, free], lambda kit: hold(kit, reason="wet"))
    assert outcome.done == (free,)
    (sentence,) = outcome.refusals
    assert packed.code in sentence
    free.refresh_from_db()
    assert free.state == "held"


def test_where_none_can_be_done_the_whole_act_is_refused():
    packed = packed_loan().kit
    before = Event.objects.count()
    with pytest.raises(Refused, match=packed.code):
        for_each([packed], lambda kit: hold(kit, reason="wet"))
    assert Event.objects.count() == before
    with pytest.raises(Refused, match="Nothing was ticked"):
        for_each([], hold)
