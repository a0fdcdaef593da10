"""Found things on Today, on the loan and on both kits, until they are put away."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.found import keep_aside
from rentals.actions.register import remove_part
from rentals.actions.return_scan import note_found
from rentals.selectors.found import (
    aside_effects,
    aside_in,
    finds,
    finds_of_kit,
    finds_to_put_away,
    found_rows,
    home_of,
    move_effects,
)
from rentals.selectors.today import work_today
from tests.factories import complete_kit, packed_loan
from tests.rentals.actions.test_found import parcel_with

pytestmark = pytest.mark.django_db
TITLE = "Found in parcels, to put away"


def on_today() -> list[str]:
    groups = {group.title: group for group in work_today(timezone.localdate())}
    return [line.act for line in groups[TITLE].lines] if TITLE in groups else []


def test_it_stands_on_today_the_loan_and_both_kits_until_it_is_done(signed_in):
    home = complete_kit()
    thing = parcel_with(home.parts.get(kind="charger"))
    loan = thing.check_of.loan
    pages = [
        home.get_absolute_url(),
        loan.kit.get_absolute_url(),
        loan.get_absolute_url(),
        reverse("rentals:receive_kit", args=[loan.kit.code]),
    ]
    move = reverse("rentals:found_move", args=[thing.pk])
    aside = reverse("rentals:found_aside", args=[thing.pk])
    assert on_today() == ["Move it to its kit"]
    for page in pages:
        shown = signed_in.get(page).content.decode()
        assert move in shown and aside in shown, page
    answer = signed_in.post(move + f"?next={pages[0]}", {"next": pages[0]}, follow=True)
    assert "is in its kit again" in answer.content.decode()
    assert on_today() == []
    for page in pages:
        assert move not in signed_in.get(page).content.decode(), page
    assert "moved to its kit" in signed_in.get(loan.get_absolute_url()).content.decode()


def test_what_waits_for_a_kit_that_is_away_is_no_work_of_today_but_stands_on_its_check():
    away = packed_loan()
    thing = parcel_with(away.kit.parts.get(kind="charger"))
    assert on_today() == ["Unpack the kit"]
    dispatch(away.kit)
    assert on_today() == ["Keep it aside"]
    keep_aside(thing, "shelf 3")
    assert on_today() == []
    assert not finds_to_put_away().exists()
    (row,) = aside_in(away.kit)
    assert "Lies: shelf 3" in row.why and row.next is None and row.aside is None
    assert aside_in(thing.check_of.loan.kit) == []
    assert len(finds_of_kit(thing.check_of.loan.kit)) == 1


def test_a_part_that_was_taken_out_belongs_to_the_kit_it_was_last_in():
    home = complete_kit()
    part = home.parts.get(kind="charger")
    thing = parcel_with(remove_part(home, part, to="missing"))
    assert home_of(thing.part) == home
    (row,) = finds_of_kit(home)
    assert row.next.act == "Move it to its kit"
    assert "put it there" in move_effects(thing)[0]
    assert aside_effects(thing) == ()


def test_the_acts_say_what_they_will_do(signed_in):
    thing = parcel_with(complete_kit().parts.get(kind="charger"))
    assert "must be tested again" in move_effects(thing)[1]
    assert "is then incomplete" in aside_effects(thing)[0]
    rosin = note_found(thing.check_of, "a rosin cake")
    assert "keep it aside" in move_effects(rosin)[0]
    assert "No part of this desk" in aside_effects(rosin)[0]
    page = reverse("rentals:found_aside", args=[rosin.pk])
    refused = signed_in.post(page, {"lies": ""})
    assert refused.status_code == 422
    signed_in.post(page, {"lies": "the window sill"})
    rosin.refresh_from_db()
    assert rosin.state == "aside"


def test_rows_take_the_same_queries_however_many(django_assert_num_queries):
    check = parcel_with(complete_kit().parts.get(kind="charger")).check_of
    for kind in ("amplifier", "lead_set"):
        kit = complete_kit()
        parcel_with(remove_part(kit, kit.parts.get(kind=kind), to="missing"), check)
    with django_assert_num_queries(2):
        assert len(found_rows(finds())) == 3


@pytest.mark.skipif(connection.vendor != "sqlite", reason="asks SQLite how it reads")
def test_a_kits_finds_are_looked_up_from_its_own_rows_and_not_among_all_that_wait():
    kit = complete_kit()
    with CaptureQueriesContext(connection) as asked:
        assert finds_of_kit(kit) == []
    (query,) = asked.captured_queries
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {query['sql']}")
        plan = [row[-1] for row in cursor.fetchall()]
    wide = [step for step in plan if step.endswith("(state=?)") or step.startswith("SCAN")]
    assert wide == [], plan
