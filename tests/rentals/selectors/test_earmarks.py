"""Who gets which kit later, as the pages read it."""

from datetime import timedelta

import pytest

from rentals.actions.earmark import set_aside
from rentals.selectors.earmarks import earmarks
from rentals.selectors.runs import enrolments_without_kit, free_kits
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit

pytestmark = pytest.mark.django_db


def test_a_kit_is_taken_only_on_days_that_overlap() -> None:
    kit = complete_kit()
    run = CourseRunFactory(kit_type=kit.kit_type)
    enrolment = EnrolmentFactory(run=run)
    set_aside({enrolment.pk: kit.code})
    same_days = CourseRunFactory(kit_type=kit.kit_type)
    days = {"starts_on": run.return_by + timedelta(days=60), "kit_type": kit.kit_type}
    later = CourseRunFactory(**days)
    another = EnrolmentFactory(run=run)
    assert [row.set_aside for row in free_kits(same_days)] == [enrolment.student.name]
    assert [row.set_aside for row in free_kits(later)] == [""]
    codes = {row.pk: vars(row)["set_aside"] for row in enrolments_without_kit(run)}
    assert codes == {enrolment.pk: kit.code, another.pk: None}
    assert [(row.enrolment, row.kit) for row in earmarks()] == [(enrolment, kit)]
