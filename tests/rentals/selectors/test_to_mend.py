"""One rule for the plan and for the chances: what is to be mended is no kit until it is."""

import random
from datetime import timedelta

import pytest
from django.db import connection
from django.db.models.signals import post_init
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import localdate

from rentals.actions.issue import clear, refuse_clearance
from rentals.models import Event, Kit, Part
from rentals.selectors.assign_lines import assign_list
from rentals.selectors.broken_plans import refused_loans
from rentals.selectors.contents import lacking_in
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


def test_no_part_becomes_an_object_however_many_kits_wait_for_the_bench() -> None:
    kind = complete_kit(cleared=False).kit_type
    complete_kit(kind, cleared=False).parts.filter(kind="licence_key").update(damaged=True)
    built = []
    note = lambda sender, **_: built.append(sender)  # noqa: E731
    post_init.connect(note, sender=Part)
    try:
        with CaptureQueriesContext(connection) as few:
            found = kits_to_mend([kind.pk])
    finally:
        post_init.disconnect(note, sender=Part)
    assert built == [] and len(found) == 1
    for _ in range(5):
        complete_kit(kind, cleared=False)
    with CaptureQueriesContext(connection) as many:
        assert kits_to_mend([kind.pk]) == found
    assert len(many) == len(few)


@pytest.mark.parametrize("seed", range(5))
def test_what_lacks_is_what_the_kit_itself_says(seed: int) -> None:
    """Kits are told together; each alone says the same."""
    dice = random.Random(seed)
    kits = [complete_kit(cleared=False)]
    kits += [complete_kit(kits[0].kit_type, cleared=False) for _ in range(5)]
    for part in Part.objects.filter(kit__isnull=False).order_by("pk"):
        match dice.randrange(6):
            case 0:
                Part.objects.filter(pk=part.pk).update(kit=None, place="spare")
            case 1:
                Part.objects.filter(pk=part.pk).update(damaged=True, damage_note="kinked")
            case 2:
                Part.objects.filter(pk=part.pk).update(kit=dice.choice(kits))
    alone = {kit.code: " ".join(lacking_in(Kit.objects.get(pk=kit.pk))) for kit in kits}
    together = kits_to_mend([kits[0].kit_type_id])
    assert together == {code: words for code, words in alone.items() if words}


@pytest.mark.skipif(connection.vendor != "sqlite", reason="asks SQLite how it reads")
def test_what_last_decided_is_read_from_the_end_of_a_kits_history() -> None:
    plan = refused_loans().explain()
    inner = plan[plan.index("CORRELATED") :].splitlines()[1]
    (index,) = (row for row in Event._meta.indexes if row.fields == ["kit", "-number"])
    assert "kit_id=?" in inner and index.name in inner, plan


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
