"""No page takes more queries at 600 kits than at 24, and none sends an endless list."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from kitdesk import idle
from rentals.actions.student_links import ensure_link
from rentals.models import (
    CourseRun,
    Kit,
    KitType,
    Loan,
    LoanStage,
    Message,
    Part,
    Shortfall,
    StockItem,
    Student,
)
from rentals.selectors.kept_answers import forget_answers
from rentals.selectors.student_links import token_of_link
from tests.scale.fleet import grow
from tests.scale.plans import Asked, asked_meanwhile, forget_figures, read_whole

pytestmark = [pytest.mark.django_db, pytest.mark.slow, pytest.mark.any_database]

LARGEST_PAGE = 400_000
FINDS_NOTHING = "search of a number"
TASKS = "django_tasks_database_dbtaskresult"
FURTHER = (", searched", ", a later page")
READ_WHOLE = {
    "each process keeps what it reads of the past, and reads it whole once a day": {
        ("today", "rentals_entry"),
        ("money", "rentals_entry"),
        *((page, "rentals_loan") for page in ("today", "chances", "run")),
    },
    "a report speaks of all there ever was": {
        ("health of the fleet", "readiness_capture"),
        *((page, "rentals_loan") for page in ("report_use", "report_use_by_student")),
        *((page, "rentals_packingline") for page in ("report_use", "report_use_by_student")),
        ("what the bench caught", "rentals_loan"),
    },
    "of every student it is asked how long their data are kept": {
        *(("privacy", f"rentals_{rows}") for rows in ("student", "loan", "event")),
    },
    "the list says how many there are": {
        *((f"students{more}", "rentals_student") for more in ("", *FURTHER)),
        *((f"messages{more}", "rentals_message") for more in ("", " of a state", *FURTHER)),
    },
    "tasks that have ended go after a day": {
        *((page, TASKS) for page in ("today", "how the desk is doing")),
    },
    "without figures the few that are set aside, or on a run, seem no fewer than all": {
        ("today", "rentals_enrolment"),
        ("mail a run", "rentals_loan"),
    },
}
"""Which pages read a growing table from end to end, by why they may."""


def students_pages() -> dict[str, str]:
    """The pages behind one student's link."""
    away = Loan.objects.filter(stage=LoanStage.AWAY).order_by("pk").first()
    token = token_of_link(ensure_link(away))
    names = ("my_kit", "my_kit_use", "my_kit_arrival", "my_kit_return", "my_kit_sheet")
    return {name: reverse(f"rentals:{name}", args=[token]) for name in names}


def addresses() -> dict[str, str]:
    """Every kind of page, by name; the same rows before and after the fleet has grown."""
    kits = {
        state: Kit.objects.filter(state=state).order_by("pk").first()
        for state in ("assigned", "packed", "away")
    }
    loan, run, kit_type = (
        Loan.objects.order_by("pk").first(),
        CourseRun.objects.first(),
        KitType.objects.first(),
    )
    bare = [
        "today",
        "kits",
        "parts",
        "kit_new",
        "fleet",
        "part_new",
        "stock",
        "plan_assign",
        "plan_stock",
        "plan_leads",
        "chances",
        "runs",
        "plan",
        "plan_days",
        "students",
        "pack",
        "dispatch_list",
        "receive",
        "receive_table",
        "out_print",
        "shortfalls",
        "faults",
        "guide_solved",
        "guide_steps",
        "money",
        "student_texts",
        "access_tokens",
        "webhooks",
        "messages",
        "reports",
        "report_losses",
        "report_losses_by_run",
        "report_use",
        "report_use_by_student",
        "report_costs",
        "report_costs_by_loan",
        "setup",
        "privacy",
        "carriers",
        "customs",
        "kit_types",
        "kit_type_starter",
        "kit_labels",
        "part_labels",
    ]
    found = {name: reverse(f"rentals:{name}") for name in bare}
    found |= {
        "where one is signed in": reverse("sessions"),
        "how the desk is doing": reverse("watching"),
        "kit": kits["assigned"].get_absolute_url(),
        "kit history": reverse("rentals:kit_history", args=[kits["away"].code]),
        "pack one": reverse("rentals:pack_kit", args=[kits["assigned"].code]),
        "dispatch one": reverse("rentals:pack_kit", args=[kits["packed"].code]),
        "receive one": reverse("rentals:receive_kit", args=[kits["away"].code]),
        "part": Part.objects.order_by("pk").first().get_absolute_url(),
        "run": run.get_absolute_url(),
        "assign": reverse("rentals:run_assign", args=[run.pk]),
        "mail a run": reverse("rentals:run_mail", args=[run.pk]) + "?occasion=due_soon",
        "import": reverse("rentals:run_import", args=[run.pk]),
        "student": reverse("rentals:student", args=[Student.objects.order_by("pk").first().pk]),
        "erase a student": reverse("rentals:student_erase", args=[loan.enrolment.student_id]),
        "loan": loan.get_absolute_url(),
        "answer to an arrival": reverse("rentals:loan_arrival_answer", args=[loan.pk]),
        **students_pages(),
        "shortfall": reverse(
            "rentals:shortfall", args=[Shortfall.objects.order_by("pk").first().pk]
        ),
        "message": Message.objects.order_by("pk").first().get_absolute_url(),
        "stock item": StockItem.objects.order_by("pk").first().get_absolute_url(),
        "kit type": kit_type.get_absolute_url(),
        "search": reverse("rentals:scan") + "?q=student",
        FINDS_NOTHING: reverse("rentals:scan") + "?q=QB000000001",
        **{
            name + further: reverse(f"rentals:{name}") + asked
            for name in ("kits", "runs", "students", "pack", "receive", "messages")
            for further, asked in zip(FURTHER, ("?q=student+1", "?page=2"), strict=True)
        },
        "messages of a state": reverse("rentals:messages") + "?state=sent",
        "kits of a state": reverse("rentals:kits") + "?state=away",
        "bench": reverse("readiness:bench"),
        "bench of a kit": reverse("readiness:kit_bench", args=[kits["assigned"].code]),
        "round of a kit": reverse("readiness:round", args=[kits["assigned"].code]),
        "health of the fleet": reverse("bench_reports:fleet"),
        "what the bench caught": reverse("bench_reports:caught"),
        "plan of tests": reverse("readiness:plan", args=[kit_type.pk]),
    }
    return found


def counted(signed_in, pages: dict[str, str], asked: dict[str, Asked]) -> dict[str, int]:
    counts = {}
    for name, address in pages.items():
        signed_in.get(address)
        # The page as it is when something has just changed.
        forget_answers()
        with CaptureQueriesContext(connection) as queries, asked_meanwhile() as asked[name]:
            answer = signed_in.get(address)
        assert answer.status_code == (404 if name == FINDS_NOTHING else 200), name
        assert len(answer.content) < LARGEST_PAGE, f"{name} sends {len(answer.content)} bytes"
        counts[name] = len(queries)
    return counts


@pytest.fixture(autouse=True)
def no_use_of_a_session_is_noted_meanwhile(monkeypatch):
    """Once a minute a page writes that its session is in use, whichever page it is."""
    monkeypatch.setattr(idle, "NOTED_EVERY_S", 24 * 3600)


def test_no_page_takes_more_queries_at_600_kits_than_at_24_or_reads_all_that_grows(signed_in):
    grow(24)
    pages = addresses()
    few = counted(signed_in, pages, {})
    grow(600)
    asked: dict[str, Asked] = {}
    many = counted(signed_in, pages, asked)
    assert {name: (few[name], count) for name, count in many.items() if count > few[name]} == {}
    # Today holds over twenty groups of work, and asks once for each that no other tells; seven ask
    # for the owner whether the desk is well.
    # One more each tells whether what is owed, what runs used and the past are kept still.
    assert many.pop("today") <= 54
    assert max(many.values()) <= 37, many
    forget_figures()
    whole = {
        (name, table)
        for name, queries in asked.items()
        for sql, params in queries.items()
        for table in read_whole(sql, params)
    }
    allowed = {pair for pairs in READ_WHOLE.values() for pair in pairs}
    assert whole - allowed == set(), "an index, or a condition on it, is lacking"
    assert allowed - whole == set(), "these need no exception any more"


def test_a_table_that_is_read_whole_is_told_and_one_that_is_not():
    forget_figures()
    one_by_one = 'SELECT * FROM "rentals_message" U0 WHERE U0."subject" = %s'
    assert read_whole(one_by_one, ("x",)) == {"rentals_message"}
    assert read_whole(f"{one_by_one} ORDER BY 1 LIMIT 1", ("x",)) == set()
    assert read_whole('SELECT * FROM "rentals_message" WHERE "state" = %s', ("draft",)) == set()
    assert read_whole('SELECT * FROM "rentals_kittype"', ()) == set()


def test_a_page_whose_index_is_gone_is_told():
    query = 'SELECT * FROM "rentals_loan" WHERE "stage" = %s'
    forget_figures()
    assert read_whole(query, ("away",)) == set()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND tbl_name = 'rentals_loan'"
        )
        of_stage = [name for name, sql in cursor.fetchall() if sql and '("stage"' in sql]
        for name in of_stage:
            cursor.execute(f'DROP INDEX "{name}"')
    # Another text, for the plan of the first one is kept.
    assert of_stage and read_whole(f"{query} ", ("away",)) == {"rentals_loan"}
