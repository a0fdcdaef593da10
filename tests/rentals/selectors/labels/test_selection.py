import pytest

from rentals.models import Part
from rentals.selectors.labels.kinds import KINDS
from rentals.selectors.labels.selection import LabelSelection, choices, rows_to_label
from tests.factories import assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def labelled(kind: str, **wanted: object) -> set[str]:
    path = KINDS[kind].ticked_by
    rows = rows_to_label(LabelSelection(kind, **wanted))
    return set(rows.values_list(path, flat=True))


def test_with_none_ticked_all_that_fit_are_meant():
    first, second = complete_kit(), complete_kit()
    assert labelled("kit") == {first.code, second.code}
    assert labelled("kit", ticked=(second.code,)) == {second.code}
    assert labelled("part", kit=first.code) == set(first.parts.values_list("code", flat=True))


def test_of_a_run_are_the_kits_that_are_out_on_it():
    loan = assigned_loan()
    complete_kit()
    run = loan.enrolment.run
    assert labelled("kit", run=run) == {loan.kit.code}
    assert labelled("lead", run=run) == set(
        loan.kit.parts.filter(kind="lead_set").values_list("code", flat=True)
    )
    assert labelled("address", run=run) == {loan.kit.code}


def test_a_word_is_looked_for_in_codes_and_in_names():
    loan = packed_loan()
    part = loan.kit.parts.first()
    assert labelled("part", search=part.serial) == {part.code}
    assert labelled("part", search=loan.kit.code.lower()) >= {part.code}
    assert labelled("address", search=loan.enrolment.student.name) == {loan.kit.code}
    assert labelled("kit", search="no kit is called so") == set()


def test_parts_out_of_use_get_no_label():
    part = complete_kit().parts.first()
    Part.objects.filter(pk=part.pk).update(place=Part.Place.RETIRED, kit=None)
    assert part.code not in labelled("part")


def test_ticked_rows_come_first_and_are_offered_once():
    kits = [complete_kit() for _ in range(3)]
    lines, not_shown = choices(LabelSelection("kit", ticked=(kits[2].code,)))
    assert [line.code for line in lines] == [kit.code for kit in (kits[2], kits[0], kits[1])]
    assert [line.ticked for line in lines] == [True, False, False]
    assert not_shown == 0
