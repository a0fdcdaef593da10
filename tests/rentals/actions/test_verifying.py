"""When the history was verified is noted, newest first."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.verifying import note_verified
from rentals.models import Verification

pytestmark = pytest.mark.django_db


def test_the_newest_comes_first():
    now = timezone.now()
    note_verified(3, at=now)
    note_verified(0, of_backup=True, at=now - timedelta(days=1))
    noted = Verification.objects.values_list("at", "faults", "of_backup").first()
    assert noted == (now, 3, False)
