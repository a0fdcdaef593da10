"""One rule for the plan and for the chances: what is to be mended is no kit until it is."""

from datetime import timedelta

import pytest
from django.utils.timezone import localdate

from rentals.actions.issue import clear, refuse_clearance
from rentals.selectors.assign_lines import assign_list
from rentals.selectors.run_chances import chances_of
from rentals.selectors.to_mend import kits_to_mend
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit

pytestmark = pytest.mark.django_db


def test_a_kit_that_lacks_a_part_or_was_refused_is_to_be_mended() -> None:
    kinked = complete_kit(cleared=False)
    kind = kinked.kit_type
    keyless, refused = complete_kit(kind, cleared=False), complete_kit(kind)
    complete_kit(kind, cleared=False), complete_kit(kind)
    kinked.parts.filter(kind="lead_set").update(damaged=True, damage_note="kinked")
    keyless.parts.filter(kind="licence_key").update(kit=None, place="spare")
    refuse_clearance(refused, reason="Lead A is open.")
    found = kits_to_mend([kind.pk])
    assert set(found) == {kinked.code, keyless.code, refused.code}
    assert "is damaged (kinked): swap it." in found[kinked.code]
    assert found[keyless.code] == "Licence key is missing: fit a spare."
    assert found[refused.code] == "Lead A is open."
    clear(refused, why="the lead set was swapped")
    assert refused.code not in kits_to_mend([kind.pk])


def test_the_plan_and_the_chances_count_on_the_same_kits() -> None:
    kinked = complete_kit(cleared=False)
    complete_kit(kinked.kit_type)
    kinked.parts.filter(kind="lead_set").update(damaged=True, damage_note="kinked")
    starts = localdate() + timedelta(days=60)
    run = CourseRunFactory(kit_type=kinked.kit_type, starts_on=starts)
    EnrolmentFactory.create_batch(2, run=run)
    planned = assign_list([run], localdate(), anew=False)
    assert planned.levels[0] == "1 student has a kit only once it is mended."
    (sentence,) = planned.to_mend
    assert sentence.startswith(f"Mend kit {kinked.code}: Lead set") and "(kinked)" in sentence
    assert any("to be mended first: Lead set" in line.why for line in planned.lines)
    chances, _ = chances_of(run, localdate())
    assert chances.chance.serve_all == 0
    assert [row.note for row in chances.kits] == ["to be mended first"]
