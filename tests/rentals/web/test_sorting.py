"""The order of a list: from the address, by known keys only, the same on every page."""

from datetime import timedelta

import pytest
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from rentals.models import Kit, Loan, Message, Part
from rentals.web.sorting import SortKey, list_order, sort_choice
from tests.factories import (
    CourseRunFactory,
    ElectrodeBatchFactory,
    EnrolmentFactory,
    StockItemFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)

pytestmark = pytest.mark.django_db
KEYS = (SortKey("code", "Part", ("code",)), SortKey("kind", "Kind", ("kind",)))


def order(address: str):
    return list_order(RequestFactory().get(address), KEYS)


def codes(signed_in, address: str, name: str = "code") -> list[str]:
    page = " ".join(signed_in.get(address).content.decode().split())
    return [text.split('"')[0] for text in page.split(f'name="{name}" value="')[1:]]


@pytest.mark.parametrize(
    "address", ["/", "/?sort=", "/?sort=serial", "/?sort=pk;drop", "/?sort=--code"]
)
def test_an_unknown_key_is_the_usual_order(address):
    assert (order(address).chosen.name, order(address).descending) == ("code", False)


def test_rows_equal_in_the_order_keep_that_of_their_numbers_on_every_page():
    made = [spare("charger") for _ in range(3)] + [spare("amplifier")]
    parts = [Part.objects.get(pk=part.pk) for part in made]
    by_kind = order("/?sort=kind").applied(Part.objects.all())
    assert list(by_kind) == [parts[3], *parts[:3]]
    assert list(order("/?sort=-kind").applied(Part.objects.all())) == [*parts[:3], parts[3]]
    assert [by_kind[place] for place in range(4)] == [parts[3], *parts[:3]]


def test_headings_are_links_that_say_how_the_list_is_sorted(signed_in):
    spare("charger")
    page = signed_in.get(reverse("rentals:parts") + "?q=S&sort=kind&page=3").content.decode()
    assert page.count("aria-sort") == 1 and 'aria-sort="ascending"' in page
    assert 'href="?q=S&amp;sort=-kind"' in page
    assert 'href="?q=S&amp;sort=code"' in page
    back = signed_in.get(reverse("rentals:parts") + "?sort=-kind").content.decode()
    assert 'aria-sort="descending"' in back and 'value="-kind"' in back


def test_the_choice_beside_the_filter_offers_every_order_once():
    values = [value for value, _ in sort_choice(KEYS).options]
    assert values == ["", "-code", "kind", "-kind"]


def test_kits_are_sorted_by_state_verdict_and_due_date(signed_in):
    packed, none, worst, good = packed_loan().kit, complete_kit(), complete_kit(), complete_kit()
    for kit, score in ((worst, 12.0), (good, 99.0)):
        Kit.objects.filter(pk=kit.pk).update(score_continuity=99, score_noise=score)
    later = assigned_loan()
    Loan.objects.filter(pk=later.pk).update(due_on=timezone.localdate().replace(year=2099))
    kits = reverse("rentals:kits")
    assert codes(signed_in, f"{kits}?sort=state")[3:] == [later.kit.code, packed.code]
    cleared = [worst.code, good.code]
    assert [code for code in codes(signed_in, f"{kits}?sort=verdict") if code in cleared] == cleared
    assert codes(signed_in, f"{kits}?sort=due")[:2] == [packed.code, later.kit.code]
    assert codes(signed_in, f"{kits}?sort=-due")[:2] == [later.kit.code, packed.code]
    assert none.code in codes(signed_in, f"{kits}?sort=-due")[2:]
    rows = signed_in.get(reverse("rentals:kits_export", args=["csv"]) + "?sort=-due").getvalue()
    assert rows.decode().splitlines()[1].startswith(later.kit.code)


def test_the_students_of_a_run_are_sorted_by_kit_state_and_due_date(signed_in):
    run = CourseRunFactory()
    bare, first, second = (EnrolmentFactory(run=run, student__name=name) for name in "ABC")
    packed_loan(complete_kit(run.kit_type), first)
    assigned_loan(complete_kit(run.kit_type), second)
    home = run.get_absolute_url()
    for sort, expected in (
        ("", [bare, first, second]),
        ("kit", [first, second, bare]),
        ("state", [second, first, bare]),
        ("-student", [second, first, bare]),
    ):
        pks = [str(enrolment.pk) for enrolment in expected]
        assert codes(signed_in, f"{home}?sort={sort}", "enrolment") == pks, sort


def shown_in_order(signed_in, address: str, words: list[str]) -> list[str]:
    """The words in the order in which the list of a page shows them."""
    page = signed_in.get(address).content.decode()
    shown = page[page.index('<div id="results"') :]
    return sorted(words, key=shown.index)


def test_runs_are_sorted_by_their_days_the_latest_first_and_by_their_students(signed_in):
    today = timezone.localdate()
    early, late = (
        CourseRunFactory(name=name, starts_on=today + timedelta(days=days))
        for name, days in (("Zither", 10), ("Alto", 40))
    )
    EnrolmentFactory(run=early)
    names, runs = [early.name, late.name], reverse("rentals:runs")
    page = signed_in.get(runs).content.decode()
    assert 'aria-sort="descending"' in page and 'href="?sort=-starts"' in page
    assert '<option value="-starts"' in page and "Starts, earliest first" in page
    for sort, expected in (
        ("", ["Alto", "Zither"]),
        ("-starts", ["Zither", "Alto"]),
        ("name", ["Alto", "Zither"]),
        ("post", ["Alto", "Zither"]),
        ("-back", ["Zither", "Alto"]),
        ("-students", ["Zither", "Alto"]),
    ):
        assert shown_in_order(signed_in, f"{runs}?sort={sort}", names) == expected, sort


def test_stock_is_sorted_by_what_may_go_out_and_by_shelf(signed_in):
    StockItemFactory(name="Swabs", on_hand=5, shelf="C1", reorder_point=90)
    StockItemFactory(name="Bands", on_hand=80, shelf="D4", reorder_point=20)
    batch = ElectrodeBatchFactory(item__name="Gel", item__shelf="A1", on_hand=30)
    names, stock = ["Swabs", "Bands", batch.item.name], reverse("rentals:stock")
    for sort, expected in (
        ("", ["Bands", "Gel", "Swabs"]),
        ("usable", ["Swabs", "Gel", "Bands"]),
        ("-usable", ["Bands", "Gel", "Swabs"]),
        ("shelf", ["Gel", "Swabs", "Bands"]),
        ("-reorder", ["Swabs", "Bands", "Gel"]),
    ):
        assert shown_in_order(signed_in, f"{stock}?sort={sort}", names) == expected, sort


def test_messages_are_sorted_by_day_subject_person_and_state(signed_in):
    now = timezone.now()
    facts = (
        ("Second", "Ada", "draft", 1),
        ("First", "Zoe", "failed", 3),
        ("Third", "Mia", "queued", 2),
    )
    for subject, person, state, days in facts:
        Message.objects.create(
            occasion="overdue",
            to_name=person,
            subject=subject,
            body_text="",
            state=state,
            message_id=subject,
            drafted_at=now - timedelta(days=days),
        )
    names, mails = [fact[0] for fact in facts], reverse("rentals:messages") + "?q="
    for sort, expected in (
        ("", ["Second", "Third", "First"]),
        ("-drafted", ["First", "Third", "Second"]),
        ("subject", ["First", "Second", "Third"]),
        ("to", ["Second", "Third", "First"]),
        ("state", ["Second", "Third", "First"]),
    ):
        assert shown_in_order(signed_in, f"{mails}&sort={sort}", names) == expected, sort
