"""Two people at two benches do the same thing at the same moment: it happens once, and nobody gets
an error page.
"""

from __future__ import annotations

import threading
import time
import uuid
from collections.abc import Callable

import pytest
from django.db import connection, connections
from django.urls import reverse

from rentals import transaction
from rentals.actions.assign import assign
from rentals.actions.dispatch import dispatch
from rentals.actions.fleet import register_fleet
from rentals.actions.issue import clear
from rentals.actions.pack import pack, tick
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.register import fit_part, register_kit, register_part
from rentals.actions.setup import remove_line
from rentals.errors import Refused
from rentals.models import Event, Kit, Loan, Part, Shortfall, StockItem
from rentals.roster.fleet_rows import fingerprint, judge_fleet
from rentals.roster.fleet_table import fleet_table
from rentals.roster.text_table import read_pasted
from rentals.selectors.contents import PARTS_TO_FIT
from rentals.selectors.fleet import fleet_on_file
from rentals.verify import verify
from tests.factories import (
    EnrolmentFactory,
    KitTypeFactory,
    StockItemFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.slow]


def at_once(*acts: Callable[[], object]) -> list[object]:
    """Run the acts in threads that start together; what each gave, a refusal as itself."""
    ready, results = threading.Barrier(len(acts)), [None] * len(acts)

    def run(place: int, act: Callable[[], object]) -> None:
        try:
            ready.wait()
            results[place] = act()
        except Refused as refusal:
            results[place] = refusal
        except Exception as error:  # handed to the test, which fails on it
            results[place] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(place, act)) for place, act in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    unexpected = [
        one for one in results if isinstance(one, Exception) and not isinstance(one, Refused)
    ]
    assert unexpected == []
    return results


def refusals(results: list[object]) -> int:
    return sum(isinstance(one, Refused) for one in results)


def test_one_kit_for_two_students():
    kit = complete_kit()
    first, second = (
        EnrolmentFactory(run__kit_type=kit.kit_type),
        EnrolmentFactory(run__kit_type=kit.kit_type),
    )
    assert refusals(at_once(lambda: assign(kit, first), lambda: assign(kit, second))) == 1
    assert Loan.objects.count() == 1


def test_two_kits_for_one_student():
    kit = complete_kit()
    other = complete_kit(kit.kit_type)
    enrolment = EnrolmentFactory(run__kit_type=kit.kit_type)
    assert refusals(at_once(lambda: assign(kit, enrolment), lambda: assign(other, enrolment))) == 1


def test_packing_twice_takes_stock_once():
    loan = assigned_loan()
    for line in draw_up(loan.kit).packing_lines.all():
        tick(line)
    box = StockItem.objects.get(kind="box")
    assert refusals(at_once(*(lambda: pack(loan.kit) for _ in range(3)))) == 0
    box.refresh_from_db()
    assert box.on_hand == 499
    assert Event.objects.filter(kit=loan.kit, verb="packed").count() == 1


def test_the_last_box_goes_into_one_parcel():
    kit = complete_kit()
    loans = [assigned_loan(kit), assigned_loan(complete_kit(kit.kit_type))]
    StockItem.objects.filter(kind="box").update(on_hand=1)
    for loan in loans:
        for line in draw_up(loan.kit).packing_lines.all():
            tick(line)
    assert refusals(at_once(*(lambda one=loan: pack(one.kit) for loan in loans))) == 1
    assert StockItem.objects.get(kind="box").on_hand == 0


def test_one_spare_for_two_kits():
    kit_type = KitTypeFactory()
    kits, part = [register_kit(kit_type), register_kit(kit_type)], spare("lead_set")
    assert refusals(at_once(*(lambda one=kit: fit_part(one, part) for kit in kits))) == 1
    assert Part.objects.get(pk=part.pk).kit in kits


def test_one_serial_registered_by_two():
    assert refusals(at_once(*(lambda: register_part("charger", "TWIN-1") for _ in range(2)))) == 1
    assert Part.objects.count() == 1


def test_one_table_of_a_fleet_confirmed_by_two():
    kit_type = KitTypeFactory()
    table = fleet_table(read_pasted("Kit;Kind;Serial\n1;amp;A1\n1;charger;C1\n;amp;A2"), {})
    seen = fingerprint(judge_fleet(table, fleet_on_file(table, kit_type)))
    results = at_once(*(lambda: register_fleet(table, kit_type, seen=seen) for _ in range(3)))
    assert refusals(results) == 2
    assert (Kit.objects.count(), Part.objects.count()) == (1, 3)
    assert verify() == []


def test_a_spare_of_a_fleets_table_fitted_elsewhere_meanwhile():
    kit_type = KitTypeFactory()
    kit, part = register_kit(kit_type), spare("charger", "C1")
    table = fleet_table(read_pasted("Kit;Kind;Serial\n1;amp;A1\n1;charger;C1"), {})
    seen = fingerprint(judge_fleet(table, fleet_on_file(table, kit_type)))
    acts = (lambda: register_fleet(table, kit_type, seen=seen), lambda: fit_part(kit, part))
    assert refusals(at_once(*acts)) == 1
    part.refresh_from_db()
    assert Part.objects.count() == (1 if part.kit == kit else 2)
    assert verify() == []


@pytest.mark.postgres
@pytest.mark.parametrize("late", ["table", "list"])
def test_a_kit_saved_twice_is_done_while_an_act_on_its_type_waits_for_it(late):
    """A second save of a row looks its parents up at the end: a lock of the type that kept this
    off would leave each waiting for the other.
    """
    kit_type = KitTypeFactory()
    kit, part = register_kit(kit_type), spare("charger", "C1")
    line = kit_type.lines.filter(part_kind="swab").first() or kit_type.lines.last()
    table = fleet_table(read_pasted("Kit;Kind;Serial\n1;amp;A1\n1;charger;C1"), {})
    seen = fingerprint(judge_fleet(table, fleet_on_file(table, kit_type)))
    begun = threading.Event()

    def fit_slowly() -> None:
        with transaction.atomic():
            fit_part(kit, part)
            Kit.objects.filter(pk=kit.pk).update(
                note="saved again", not_cleared_reason=PARTS_TO_FIT
            )
            begun.set()
            wait_until_somebody_waits()

    def act_on_the_type() -> object:
        begun.wait()
        if late == "table":
            return register_fleet(table, kit_type, seen=seen)
        return remove_line(line)

    with transaction.atomic():
        Kit.objects.update(not_cleared_reason=PARTS_TO_FIT)
    at_once(fit_slowly, act_on_the_type)
    part.refresh_from_db()
    assert part.kit == kit
    assert verify() == []


def wait_until_somebody_waits() -> None:
    """Until a lock is asked for that is not given."""
    with connection.cursor() as cursor:
        for _ in range(600):
            cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
            if cursor.fetchone()[0]:
                return
            time.sleep(0.05)
    pytest.fail("nobody waited within 30 seconds")


def test_arrival_and_check_finished_twice_open_shortfalls_once():
    loan = packed_loan()
    dispatch(loan.kit)
    checks = at_once(lambda: arrive(loan.kit), lambda: arrive(loan.kit))
    assert len({check.pk for check in checks}) == 1
    for line in checks[0].lines.select_related("packing_line"):
        if line.packing_line.comes_back:
            missing = line.packing_line.part_kind == "licence_key"
            note_line(line, "missing" if missing else "back", cleaned=True, charged=True)
    at_once(*(lambda: finish_check(checks[0]) for _ in range(3)))
    assert Shortfall.objects.count() == 1
    assert verify() == []


def test_many_events_at_one_kit_keep_its_chain_whole():
    kit = complete_kit(cleared=False)
    parts = list(kit.parts.all())
    acts = [lambda: clear(kit, why="bench"), *(lambda one=part: _damage(one) for part in parts)]
    at_once(*acts)
    assert verify() == []


def _damage(part: Part) -> None:
    from rentals.actions.register import mark_damaged

    mark_damaged(part, "cracked")


def test_new_kits_never_share_a_code():
    kit_type = KitTypeFactory()
    at_once(*(lambda: register_kit(kit_type) for _ in range(4)))
    assert Kit.objects.count() == len(set(Kit.objects.values_list("code", flat=True)))
    assert Kit.objects.count() == 4


def test_one_form_pressed_twice(signed_in, owner):
    item = StockItemFactory(on_hand=0)
    form = {"quantity": "7", "form_key": str(uuid.uuid4())}

    def press() -> int:
        from django.test import Client

        client = Client()
        client.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
        return client.post(reverse("rentals:stock_item", args=[item.pk]), form).status_code

    assert at_once(press, press) == [302, 302]
    item.refresh_from_db()
    assert item.on_hand == 7, connection.vendor
