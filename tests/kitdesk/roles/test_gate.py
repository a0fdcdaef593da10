"""What people of each role meet at the desk: pages, lists, scans and refusals."""

from html.parser import HTMLParser

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import resolve, reverse

from kitdesk.roles.role import DeskRole
from kitdesk.roles.rules import RULES
from rentals.models import Event, Kit
from tests.factories import assigned_loan, complete_kit, packed_loan
from tests.kitdesk.roles.people import client_of
from tests.rentals.letters import mail_to

pytestmark = pytest.mark.django_db


class _Ways(HTMLParser):
    """All that a page leads to: (address, whether it is posted to)."""

    def __init__(self, page: str, path: str) -> None:
        super().__init__()
        self.found: set[tuple[str, bool]] = set()
        self._path = path
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        facts = {name: value or "" for name, value in attrs}
        if tag == "a" and facts.get("href", "").startswith("/"):
            self.found.add((facts["href"], False))
        if tag == "form":
            self.found.add((facts.get("action") or self._path, facts.get("method") == "post"))
        for name in ("hx-post", "hx-get", "formaction"):
            if facts.get(name, "").startswith("/"):
                self.found.add((facts[name], name == "hx-post"))


def _refusals(page: str, path: str, role: DeskRole) -> list[str]:
    refused = []
    for address, posting in _Ways(page, path).found:
        address = address.partition("?")[0]
        rule = RULES[resolve(address).view_name]
        if not rule.lets(frozenset({role}), posting=posting):
            refused.append(address)
    return refused


@pytest.mark.parametrize("role", [DeskRole.PACKER, DeskRole.BENCH, DeskRole.READER])
def test_no_screen_leads_somebody_to_a_refusal(role):
    loan, out = assigned_loan(), packed_loan()
    mail = mail_to(loan.enrolment.student)
    client = client_of(role)
    kit, message = loan.kit, mail.get_absolute_url()
    pages = [
        *map(reverse, ("rentals:today", "rentals:kits", "rentals:parts", "readiness:bench")),
        *map(reverse, ("rentals:runs", "rentals:money", "rentals:pack", "rentals:faults")),
        kit.get_absolute_url(),
        kit.parts.first().get_absolute_url(),
        reverse("readiness:kit_bench", args=[kit.code]),
        loan.get_absolute_url(),
        loan.enrolment.student.get_absolute_url(),
        loan.enrolment.run.get_absolute_url(),
        reverse("rentals:pack_kit", args=[out.kit.code]),
        reverse("rentals:setup"),
        reverse("rentals:scan") + "?q=nothing+such",
        message,
    ]
    seen = 0
    for path in pages:
        answer = client.get(path)
        if answer.status_code != 403:
            seen += 1
            page = answer.content.decode()
            assert _refusals(page, path.partition("?")[0], role) == [], f"{role} on {path}"
    assert seen >= 7


def test_a_refused_post_keeps_nothing_and_says_who_may():
    kit = complete_kit()
    client = client_of(DeskRole.READER)
    before = Event.objects.count()
    answer = client.post(reverse("rentals:kit_note", args=[kit.code]), {"text": "Dropped once."})
    page = answer.content.decode()
    assert answer.status_code == 403 and Event.objects.count() == before
    assert "This is for: owner, packer, bench." in page and "Your account is: reader." in page
    owners = client.get(reverse("rentals:practice")).content.decode()
    assert "Only the owner of this desk may do this." in owners


def test_an_account_without_a_role_sees_an_empty_day_and_its_own_account_only(db):
    account = User.objects.create_user("new", password="slow-left-hand-77")
    assigned_loan()
    client = Client()
    client.force_login(account, backend="allauth.account.auth_backends.AuthenticationBackend")
    page = client.get(reverse("rentals:today")).content.decode()
    assert "To pack" not in page and reverse("rentals:kits") not in page
    assert client.get(reverse("account_change_password")).status_code == 200
    refused = client.get(reverse("rentals:kits"))
    assert refused.status_code == 403 and "has no role yet" in refused.content.decode()


def test_a_role_given_meanwhile_holds_on_the_next_page(owner):
    from kitdesk.people import set_roles

    client = client_of(DeskRole.READER)
    kit, account = complete_kit(), User.objects.get(username="reader")
    note = reverse("rentals:kit_note", args=[kit.code])
    assert client.get(note).status_code == 403
    set_roles(account.pk, [DeskRole.BENCH], by=owner)
    assert client.get(note).status_code == 200
    assert client.get(reverse("rentals:students")).status_code == 403


def test_the_bench_finds_kits_and_parts_but_no_students_and_no_money():
    loan = assigned_loan()
    kit, student = Kit.objects.get(pk=loan.kit_id), loan.enrolment.student
    bench, packer = client_of(DeskRole.BENCH), client_of(DeskRole.PACKER)
    scan = reverse("rentals:scan")
    # A scan leads to where the person works, not into a refusal.
    assert bench.get(scan, {"q": kit.code}).url == kit.get_absolute_url()
    assert packer.get(scan, {"q": kit.code}).url == reverse("rentals:pack_kit", args=[kit.code])
    by_mail = bench.get(scan, {"q": student.email})
    assert by_mail.status_code == 404 and student.name not in by_mail.content.decode()
    assert packer.get(scan, {"q": student.email}).url == student.get_absolute_url()
    history = reverse("rentals:kit_history", args=[kit.code])
    for path in (kit.get_absolute_url(), history):
        page = bench.get(path).content.decode()
        assert "Deposit received" not in page and "€" not in page
        assert student.email not in page and student.get_absolute_url() not in page
        assert "Deposit received" in packer.get(path).content.decode()


def test_today_and_the_navigation_hold_what_somebody_may_do():
    assigned_loan()
    complete_kit(cleared=False)
    shown = {}
    for role in (DeskRole.PACKER, DeskRole.BENCH):
        page = client_of(role).get(reverse("rentals:today")).content.decode()
        words = ("To pack, by post-by date", "To bench", ">Messages<", ">Plan<", ">Bench<")
        shown[role] = [word in page for word in words]
    assert shown == {
        DeskRole.PACKER: [True, False, True, True, True],
        DeskRole.BENCH: [False, True, False, False, True],
    }


def test_whoever_only_reads_is_asked_to_no_act_on_today():
    assigned_loan()
    mail_to(assigned_loan().enrolment.student)
    page = client_of(DeskRole.READER).get(reverse("rentals:today")).content.decode()
    assert ">Open<" in page and ">Read<" not in page
    assert ">Read<" in client_of(DeskRole.PACKER).get(reverse("rentals:today")).content.decode()


def test_setup_names_only_what_somebody_may_set():
    page = client_of(DeskRole.BENCH).get(reverse("rentals:setup")).content.decode()
    assert "Everything with a serial number" in page and "Your sign-in" in page
    assert "The practice" not in page and "Reminders" not in page


def test_the_roles_cost_one_query(django_assert_num_queries):
    complete_kit()
    client = client_of(DeskRole.READER)
    address = reverse("keys")
    client.get(address)
    # Session, account, its groups.
    with django_assert_num_queries(3):
        client.get(address)
