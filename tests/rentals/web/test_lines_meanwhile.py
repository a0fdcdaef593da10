"""Two people at the lines of one page: what each has said stays."""

import re
from html import unescape

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, note_line
from tests.factories import packed_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def marks_in(answer) -> dict[str, str]:
    """What each line of the page says that it was shown with."""
    marks = re.findall(r'name="(line\d+-as_shown)" value="([^"]*)"', answer.content.decode())
    return {name: unescape(value) for name, value in marks}


def test_two_people_at_one_check_keep_what_each_has_said(signed_in):
    check = arrive(dispatch(packed_loan().kit).kit)
    home = reverse("rentals:receive_kit", args=[check.loan.kit.code])
    lines = {line.packing_line.part_kind: line for line in check.lines.all()}
    charger, leads = lines["charger"], lines["lead_set"]
    shown = marks_in(signed_in.get(home))
    note_line(charger, "missing", note="not in the bag")
    note_line(leads, "damaged", note="kinked")
    mine = {f"line{line.pk}-outcome": "" for line in lines.values()} | shown
    mine |= {f"line{line.pk}-note": "" for line in lines.values()}
    del mine[f"line{charger.pk}-outcome"]
    mine |= {f"line{leads.pk}-outcome": "back"}
    answer = signed_in.post(home, mine)
    assert answer.status_code == 422
    [wrong] = answer.context["wrong"]
    assert wrong["note"].value() == "kinked"
    assert wrong.line == leads and "It now says: damaged." in wrong.errors["outcome"][0]
    charger.refresh_from_db()
    leads.refresh_from_db()
    assert (charger.outcome, charger.note) == ("missing", "not in the bag")
    assert (leads.outcome, leads.note) == ("damaged", "kinked")
    # Sent once more, from the page that shows what the other one said, it stands.
    signed_in.post(home, mine | marks_in(answer))
    leads.refresh_from_db()
    assert leads.outcome == "back"
