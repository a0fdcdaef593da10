"""Which wording a mail has, and whether it is drafted by itself."""

import pytest

from rentals.models import MailWording, Message
from rentals.post.usual_wording import USUAL
from rentals.post.wording import Wording
from rentals.selectors.wordings import (
    BY_ITSELF,
    drafts_by_itself,
    wording_by_itself,
    wording_for,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_without_an_own_wording_the_usual_one_counts(occasion):
    assert wording_for(occasion) == USUAL[occasion]
    assert drafts_by_itself(occasion) == (occasion in BY_ITSELF)
    assert wording_by_itself(occasion) == (USUAL[occasion] if occasion in BY_ITSELF else None)


@pytest.mark.parametrize("by_itself", [True, False])
def test_an_own_wording_says_whether_it_is_drafted(by_itself):
    facts = {"subject": "Ended", "text": "Dear {student}", "drafted_by_itself": by_itself}
    MailWording.objects.create(occasion="statement", **facts)
    own = Wording("Ended", "Dear {student}")
    assert wording_for("statement") == own
    assert wording_by_itself("statement") == (own if by_itself else None)
    assert drafts_by_itself("statement") == by_itself
