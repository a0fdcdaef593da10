"""A kit's step in memory: what fits its new state stays, the rest goes, and nothing is saved."""

import pytest
from django.utils import timezone

from rentals.actions.kit_step import MOVED, take_step
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit
from tests.factories import complete_kit

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def test_a_step_takes_away_what_no_longer_fits_and_saves_nothing():
    kit = complete_kit()
    kit.state, kit.cleared = "away", True
    kit.override_reason, kit.cleared_at = "the lead was seen", timezone.now()
    take_step(kit, Verb.ARRIVED)
    after = (kit.state, kit.cleared, kit.cleared_at, kit.override_reason)
    assert after == ("check", False, None, "")
    on_file = Kit.objects.get(pk=kit.pk)
    assert (on_file.state, on_file.cleared) == ("shelf", True)


def test_a_step_that_may_not_be_is_refused_and_leaves_the_kit_as_it_was():
    kit = complete_kit()
    before = [getattr(kit, name) for name in MOVED]
    with pytest.raises(Refused, match=f"Kit {kit.code}: "):
        take_step(kit, Verb.DISPATCHED)
    assert [getattr(kit, name) for name in MOVED] == before
