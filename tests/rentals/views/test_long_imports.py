"""Long tables are imported in the background: rosters as a whole or not at all, fleets kit by
kit, and nothing of them twice.
"""

from __future__ import annotations

import errno
import html
import uuid

import pytest
from django.contrib.auth.models import Group
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from rentals.actions import fleet_errand, roster_errand
from rentals.actions.errand_claims import ErrandProgress, ErrandTaken, claim_errand
from rentals.actions.errands import cancel_errand, do_errand, take_up_errands
from rentals.errands import fleets
from rentals.errands.rosters import import_of_roster
from rentals.models import Errand, Kit, Part, RosterDraft, Student
from rentals.states import ErrandState
from rentals.verify import verify
from tests.factories import CourseRunFactory, KitTypeFactory, StudentFactory, UserFactory, spare
from tests.rentals.views import test_fleet as fleet_pages
from tests.rentals.views.test_roster import CLEAN, decide, send, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def nobody_works(settings, monkeypatch):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    monkeypatch.setattr(roster_errand, "IMPORTED_AT_ONCE", 1)
    monkeypatch.setattr(fleet_errand, "REGISTERED_AT_ONCE", 1)
    monkeypatch.setattr("rentals.views.fleet.REGISTERED_AT_ONCE", 5)


def work_off(errand: Errand) -> Errand:
    do_errand.call(errand.pk)
    errand.refresh_from_db()
    return errand


def asked_import(client: Client) -> tuple[RosterDraft, Errand]:
    """A roster of two, sent and asked for."""
    send(client, CourseRunFactory(), CLEAN)
    draft = RosterDraft.objects.get()
    answer = decide(client, draft, "import")
    errand = Errand.objects.get()
    assert answer.redirect_chain[-1][0] == errand.get_absolute_url()
    return draft, errand


def test_thresholds_are_rows_of_a_second(monkeypatch):
    monkeypatch.undo()
    assert (roster_errand.IMPORTED_AT_ONCE, fleet_errand.REGISTERED_AT_ONCE) == (300, 50)
    rows = [[number, [], {}, 0] for number in range(301)]
    assert roster_errand.is_long(RosterDraft(content={"rows": rows}))
    assert not roster_errand.is_long(RosterDraft(content={"rows": rows[:300]}))


def test_a_long_roster_is_imported_in_the_background(signed_in: Client):
    draft, errand = asked_import(signed_in)
    assert not Student.objects.exists()
    # Whoever comes back to its preview is led to the work; nothing is changed meanwhile.
    work = errand.get_absolute_url()
    assert signed_in.get(draft.get_absolute_url()).url == work
    after = decide(signed_in, draft, "save", left_out_2="on")
    assert after.redirect_chain[-1][0] == work and "nothing in it can be changed" in text_of(after)
    assert work_off(errand).state == ErrandState.DONE
    assert (errand.done, errand.total) == (2, 2)
    assert "2 enrolled, 2 of them new" in errand.said
    assert draft.run.enrolments.count() == 2
    assert errand.title in text_of(signed_in.get(draft.run.get_absolute_url()))
    assert f'href="{draft.run.get_absolute_url()}">See what came of it' in text_of(
        signed_in.get(work)
    )
    assert verify() == []


def test_what_was_left_out_is_named_with_its_reason(signed_in: Client):
    send(signed_in, CourseRunFactory(), CLEAN + b",nobody@x.example,,,,\n")
    decide(signed_in, RosterDraft.objects.get(), "leave_bad")
    decide(signed_in, RosterDraft.objects.get(), "import")
    errand = work_off(Errand.objects.get())
    assert errand.named == ["Row 4, nobody@x.example: The name is missing."]
    shown = text_of(signed_in.get(errand.get_absolute_url()))
    assert "Rows left out" in shown and errand.named[0] in shown


def test_a_roster_in_the_way_is_refused_before_anything_is_asked_for(signed_in: Client):
    send(signed_in, CourseRunFactory(), CLEAN + b",nobody@x.example,,,,\n")
    shown = text_of(decide(signed_in, RosterDraft.objects.get(), "import"))
    assert "Row 4 still stands in the way" in shown
    assert not Errand.objects.exists()


def test_a_row_that_comes_into_the_way_meanwhile_leaves_nobody_saved(signed_in: Client):
    draft, errand = asked_import(signed_in)
    ada = StudentFactory(name="Ada Test", email="ada@x.example", city="Rosinburg")
    draft.run.enrolments.create(student=ada)
    Student.objects.filter(pk=ada.pk).update(
        street="Lane 1", postcode="12345", country="DE", phone="", region=""
    )
    work_off(errand)
    assert errand.state == ErrandState.FAILED and "Nothing was saved. Row 2" in errand.problem
    assert Student.objects.count() == 1
    back = f'href="{draft.get_absolute_url()}">Back to where it was asked for'
    assert back in text_of(signed_in.get(errand.get_absolute_url()))
    assert "Already on this run" in text_of(signed_in.get(draft.get_absolute_url()))


def test_an_import_cancelled_at_its_last_step_saves_nobody(signed_in: Client, monkeypatch):
    _, errand = asked_import(signed_in)
    hold = ErrandProgress.hold

    def cancelled_first(progress: ErrandProgress, **facts: object) -> None:
        Errand.objects.filter(pk=errand.pk).update(stopping=True)
        hold(progress, **facts)

    monkeypatch.setattr(ErrandProgress, "hold", cancelled_first)
    work_off(errand)
    assert (errand.state, errand.named) == (ErrandState.CANCELLED, [])
    assert not Student.objects.exists()
    assert "Nobody of it was saved" in text_of(signed_in.get(errand.get_absolute_url()))


def test_an_import_that_another_worker_has_taken_up_is_not_done_twice(signed_in: Client):
    _, errand = asked_import(signed_in)
    first = claim_errand(errand.pk)
    assert first is not None
    Errand.objects.filter(pk=errand.pk).update(claimed_at=None, state=ErrandState.WAITING)
    with pytest.raises(ErrandTaken):
        import_of_roster(first, ErrandProgress(first, every_s=1e9, clock=lambda: 0.0))
    assert not Student.objects.exists()
    assert work_off(errand).state == ErrandState.DONE
    assert Student.objects.count() == 2


def test_a_worker_that_dies_after_its_import_leaves_the_summary(signed_in: Client):
    send(signed_in, CourseRunFactory(), CLEAN + b",nobody@x.example,,,,\n")
    decide(signed_in, RosterDraft.objects.get(), "leave_bad")
    decide(signed_in, RosterDraft.objects.get(), "import")
    errand = claim_errand(Errand.objects.get().pk)
    assert errand is not None
    import_of_roster(errand, ErrandProgress(errand))
    long_ago = errand.claimed_at.replace(year=errand.claimed_at.year - 1)
    Errand.objects.filter(pk=errand.pk).update(claimed_at=long_ago)
    assert take_up_errands({errand.pk}) == 1
    work_off(errand)
    assert (errand.state, Student.objects.count()) == (ErrandState.DONE, 2)
    assert "2 enrolled" in errand.said and len(errand.named) == 1


def test_a_roster_that_was_discarded_meanwhile_is_said(signed_in: Client):
    draft, errand = asked_import(signed_in)
    draft.delete()
    assert "was discarded" in work_off(errand).problem


def asked_fleet(client: Client, *kits: str) -> Errand:
    kit_type = KitTypeFactory.create()
    looked = fleet_pages.send(client, fleet_pages.rows(*kits), kit_type=kit_type)
    assert "registered in the background, kit by kit" in text_of(looked)
    answer = fleet_pages.confirm(client, looked)
    errand = Errand.objects.get()
    assert answer.redirect_chain[-1][0] == errand.get_absolute_url()
    return errand


def test_a_long_fleet_is_registered_kit_by_kit(signed_in: Client, monkeypatch):
    errand = asked_fleet(signed_in, "1", "2", "3")
    assert not Kit.objects.exists()
    seen = []
    step = ErrandProgress.step

    def steps(progress: ErrandProgress, rows: int) -> None:
        seen.append((Kit.objects.count(), Part.objects.count()))
        step(progress, rows)

    monkeypatch.setattr(ErrandProgress, "step", steps)
    assert work_off(errand).state == ErrandState.DONE
    assert seen == [(1, 5), (2, 10), (3, 15)]
    assert "3 new kits and 15 new parts are registered, 15 fitted" in errand.said
    assert errand.title in text_of(signed_in.get(fleet_pages.PAGE))
    assert verify() == []


def test_a_fleet_cancelled_or_lost_in_the_middle_is_gone_on_with_and_no_kit_twice(
    signed_in: Client, monkeypatch
):
    errand = asked_fleet(signed_in, "1", "2", "3")
    step = ErrandProgress.step

    def stops(progress: ErrandProgress, rows: int) -> None:
        cancel_errand(errand)
        monkeypatch.setattr(progress, "_every_s", 0)
        step(progress, rows)

    monkeypatch.setattr(ErrandProgress, "step", stops)
    assert work_off(errand).state == ErrandState.CANCELLED
    assert Kit.objects.count() == 1
    shown = text_of(signed_in.get(errand.get_absolute_url()))
    assert "1 new kit and 5 new parts are registered, 5 fitted." in shown
    assert "5 of 15 rows were looked at by then" in shown
    # The table is there again, whatever came of it.
    monkeypatch.setattr(ErrandProgress, "step", step)
    again = signed_in.get(errand.goes_to)
    assert "2 new kits, 10 new parts, 5 already there." in text_of(again)
    fleet_pages.confirm(signed_in, again)
    second = work_off(Errand.objects.latest("pk"))
    assert "5 rows were there before" in second.said
    assert (Kit.objects.count(), Part.objects.count()) == (3, 15)


def test_a_fleet_that_fails_in_the_middle_says_what_is_registered(signed_in: Client, monkeypatch):
    errand = asked_fleet(signed_in, "1", "2", "3")
    register = fleets.register_rows

    def fails(*words, **facts):
        if Kit.objects.count() == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        return register(*words, **facts)

    with monkeypatch.context() as failing:
        failing.setattr(fleets, "register_rows", fails)
        assert work_off(errand).state == ErrandState.FAILED
    assert (Kit.objects.count(), Part.objects.count()) == (2, 10)
    shown = text_of(signed_in.get(errand.get_absolute_url()))
    assert "2 new kits and 10 new parts are registered, 10 fitted." in shown
    assert "The disk of this desk is full." in shown
    assert "What was registered by then stays" in shown
    assert "Send the same table again for the rest" in shown and "nothing was" not in shown
    fleet_pages.confirm(signed_in, signed_in.get(errand.goes_to))
    assert work_off(Errand.objects.latest("pk")).state == ErrandState.DONE
    assert (Kit.objects.count(), Part.objects.count()) == (3, 15)


def test_a_roster_that_fails_saves_nobody_and_can_be_begun_again(signed_in: Client, monkeypatch):
    draft, errand = asked_import(signed_in)

    def fails(progress: ErrandProgress, **facts: object) -> None:
        raise OperationalError("database is locked")

    with monkeypatch.context() as failing:
        failing.setattr(ErrandProgress, "hold", fails)
        assert work_off(errand).state == ErrandState.FAILED
    assert not Student.objects.exists()
    shown = text_of(signed_in.get(errand.get_absolute_url()))
    assert "held the desk's data" in html.unescape(shown)
    assert "Nothing is half done. Start it again." in shown
    decide(signed_in, draft, "import")
    assert work_off(Errand.objects.latest("pk")).state == ErrandState.DONE
    assert Student.objects.count() == 2


def test_rows_in_the_way_by_then_are_named_and_their_kit_left_out(signed_in: Client):
    errand = asked_fleet(signed_in, "1", "2")
    serial = fleet_pages.KINDS[0][:2] + "-2"
    lost = spare("amplifier", serial=serial)
    Part.objects.filter(pk=lost.pk).update(place=Part.Place.LOST)
    work_off(errand)
    assert errand.state == ErrandState.FAULTS and Kit.objects.count() == 1
    assert len(errand.named) == 5
    assert "is lost" in errand.named[0] and "another row of its kit" in errand.named[1]
    assert "Mend them in the table" in errand.said
    assert "5 already there" not in text_of(signed_in.get(errand.get_absolute_url()))
    assert "is lost" in text_of(signed_in.get(errand.goes_to))


def test_a_table_of_somebody_else_is_not_shown(signed_in: Client, client: Client):
    errand = asked_fleet(signed_in, "1", "2")
    other, (packers, _) = UserFactory(), Group.objects.get_or_create(name="packer")
    other.groups.add(packers)
    client.force_login(other)
    assert "Am-1" not in text_of(client.get(errand.goes_to))
    assert client.get(f"{reverse('rentals:fleet')}?work=x{uuid.uuid4()}").status_code == 200
    assert fleets.rows_together([]) == []
