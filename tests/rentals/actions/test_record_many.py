"""Many events in few queries, in the same chains."""

import pytest

from rentals.actions.record import lock_kit
from rentals.actions.record_many import KitNews, record_kits
from rentals.lifecycle import Verb
from rentals.models import Event
from rentals.verify import verify
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db(transaction=False)


def test_a_kit_may_have_several_events_at_once() -> None:
    kit = lock_kit(complete_kit())
    before = kit.event_count
    news = [KitNews(kit, Verb.NOTED, text) for text in ("First.", "Second.")]
    assert record_kits(news) == 2
    assert Event.objects.get(chain=kit.code, number=before + 2).text == "Second."
    assert verify() == []


def test_an_act_that_moves_its_kit_is_not_taken() -> None:
    kit = lock_kit(complete_kit())
    with pytest.raises(ValueError, match="moves kit"):
        record_kits([KitNews(kit, Verb.ASSIGNED, "Assigned.")])
