"""A contact that parts against a cable that rubs, and one lead for all that was seen."""

import pytest

from readiness.signal.catalogue import FLEX
from readiness.signal.leads.contacts import parting, whose
from readiness.signal.leads.events import lead_at
from readiness.signal.result import AbruptEvent

pytestmark = pytest.mark.any_database


def events(*moments, uv=3000.0):
    """Jumps of five milliseconds at these seconds of a flex."""
    spans = FLEX.spans
    return tuple(AbruptEvent(at, at + 0.005, uv, *lead_at(spans, at, at + 0.005)) for at in moments)


def test_only_jumps_too_high_for_a_cable_that_rubs_are_a_contact_that_parts():
    assert not parting(events(3.5, 4.0, uv=250.0), None)
    assert len(parting(events(3.5, uv=800.0), None)) == 1
    # A channel that ends at 400 uV cannot show more.
    assert len(parting(events(3.5, uv=250.0), (-400.0, 400.0))) == 1


@pytest.mark.parametrize(
    ("moments", "lead"),
    [
        ((3.5,), "A"),
        ((2.4, 4.9), "A"),
        ((3.2, 4.3, 5.61), "A"),
        ((6.2, 7.9, 8.05), "B"),
        ((7.3,), "B"),
        ((4.9, 5.2), None),
    ],
)
def test_one_lead_explains_what_an_early_or_late_hand_did(moments, lead):
    assert whose(events(*moments), FLEX.spans) == lead


def test_low_jumps_between_two_windows_may_be_the_grounds():
    assert whose(events(7.4, uv=700.0), FLEX.spans) is None
    assert whose(events(7.6, 9.0, uv=700.0), FLEX.spans) == "ground"
