"""Whose capture it is, among the kits of the desk."""

from __future__ import annotations

import pytest

from readiness.intake.owners import Question
from readiness.models import Capture
from readiness.selectors.owners import owner_of
from rentals.codes import make_code
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def test_the_kit_is_looked_up_and_what_is_not_known_is_asked():
    kit = complete_kit()
    assert owner_of(Capture(name=f"{kit.code} still.csv"), None, None) == (kit, "still")
    assert owner_of(Capture(name="a.csv", declared={"kit": kit.code}), None, "flex") == (
        kit,
        "flex",
    )

    stranger, test = owner_of(Capture(name="a.csv"), make_code("K", 9999), "flex")
    assert isinstance(stranger, Question)
    assert (stranger.missing, test) == ("kit", "flex")

    unknown = owner_of(Capture(name="a.csv"), None, None)
    assert [question.missing for question in unknown] == ["kit", "test"]
