"""The whole guide as its owner sees it."""

import pytest

from rentals.models import LeftOutStep, OwnStep
from rentals.selectors.guide_setup import guide_setup

pytestmark = pytest.mark.django_db


def test_every_step_is_there_with_what_was_changed(django_assert_num_queries):
    LeftOutStep.objects.create(symptom="hum", step="charger_off")
    own = OwnStep.objects.create(symptom="hum", title="Call", to_try="Call us.")
    with django_assert_num_queries(4):
        rows = {row.symptom: row for row in guide_setup()}
    steps = {step.key: step for step in rows["hum"].steps}
    assert steps["charger_off"].left_out and not steps["ground_on"].left_out
    assert steps["look_leads"].safety and rows["hum"].own == [own]
    assert rows["flat"].own == []
