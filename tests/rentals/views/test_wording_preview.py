"""A wording as one loan's student would get it."""

import pytest

from rentals.models import MailWording
from rentals.views.wording_preview import loans_offered, wording_preview
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_the_preview_is_of_what_is_typed_in_its_language():
    loan = packed_loan()
    typed = MailWording(occasion="due_soon", language="fr", subject="Retour", text="Le {due}")
    assert wording_preview(typed, None) == {}
    seen = wording_preview(typed, loans_offered()[0])
    assert seen["preview"].subject == "Retour" and str(loan.due_on.year) in seen["preview_plain"]
    typed.text = "{nothing}"
    assert "stands for nothing" in wording_preview(typed, loan)["preview_fault"]
