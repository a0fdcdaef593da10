"""The kinds of labels keep their codes and texts where their rows have them."""

from __future__ import annotations

import pytest
from django.db.models import Q

from rentals.models import Kit, Lead, Loan, Part
from rentals.selectors.labels.kinds import KINDS

ROWS = {"kit": Kit, "part": Part, "address": Loan, "return": Loan}


@pytest.mark.django_db
@pytest.mark.parametrize("kind", sorted(ROWS))
def test_rows_are_searched_by_what_they_have(kind):
    paths = (*KINDS[kind].code_paths, *KINDS[kind].text_paths)
    for path in paths:
        assert not ROWS[kind].objects.filter(Q(**{f"{path}__icontains": "x"})).exists()
    assert KINDS[kind].ticked_by == KINDS[kind].code_paths[0]


def test_leads_are_found_by_their_set_and_parcels_by_their_student():
    assert KINDS["lead"].code_paths == KINDS["part"].code_paths
    assert Lead._meta.get_field("lead_set").related_model.__mro__[1] is Part
    assert [kind for kind, row in KINDS.items() if row.of_parcels] == ["address", "return"]
