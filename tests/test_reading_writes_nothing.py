"""Opening a page writes nothing: every address of both apps is asked for while the database refuses
to be written to.
"""

import re
from collections.abc import Iterator
from itertools import islice, product

import pytest
from django.contrib.auth.models import User
from django.core.management.color import no_style
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from readiness.actions.upload import store_upload
from rentals.actions.dispatch import dispatch
from rentals.actions.mail_setup import make_calendar_link
from rentals.actions.paper import save_sheet
from rentals.actions.receive import arrive
from rentals.models import Kit, LabelSheet, Loan, Message, PackingLine, Practice, Shortfall
from tests.factories import assigned_loan, complete_kit, packed_loan
from tests.hour import BY_NIGHT, most
from tests.readiness.captures import kit_files
from tests.test_hostile_requests import ADDRESSES

pytestmark = [pytest.mark.django_db, pytest.mark.slow, pytest.mark.any_database]

WRITES = re.compile(r"\s*(INSERT|UPDATE|DELETE|REPLACE|MERGE)\b", re.IGNORECASE)
#: What the frame around the pages keeps of a visit: signing in, sessions, rate limits.
OF_THE_VISIT = ("django_session", "kitdesk_cache", "auth_user")
#: The owner sees when a private calendar address was last read, a day at most: its one trace.
KEEPS_A_TRACE = {"rentals:calendar_feed"}
MOST_OF_ONE_ADDRESS = most(1, 6)


class Written(BaseException):
    """A page wrote; no view can catch it and answer all the same."""


def refuse_writes(execute, sql, params, many, context):
    """A wrapper of the database that lets nothing but reading through."""
    if WRITES.match(sql) and not any(table in sql for table in OF_THE_VISIT):
        raise Written(sql[:200])
    return execute(sql, params, many, context)


@pytest.fixture
def first_numbers() -> None:
    """Each table counts its rows from 1 again: PostgreSQL does not by itself after a rollback, and
    the addresses below name the first rows.
    """
    statements = connection.ops.sequence_reset_by_name_sql(
        no_style(), connection.introspection.sequence_list()
    )
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


@pytest.fixture
def desk(first_numbers: None, owner: User) -> None:
    """One of everything in every stage, one kit assigned without a list, and no row for what is
    made when it is first saved.
    """
    assigned, out, back = assigned_loan(), packed_loan(), packed_loan()
    packed_loan()
    PackingLine.objects.filter(loan=assigned).delete()
    dispatch(out.kit)
    arrive(dispatch(back.kit).kit)
    Shortfall.objects.create(
        loan=back,
        packing_line=back.packing_lines.first(),
        kind="missing",
        opened_at=timezone.now(),
    )
    waiting = complete_kit(cleared=False)
    store_upload(kit_files(waiting.code))
    make_calendar_link("phone")
    save_sheet(
        LabelSheet(
            name="Ours",
            label_width=60,
            label_height=30,
            pitch_across=62,
            pitch_down=32,
            margin_left=8,
            margin_top=10,
        )
    )
    assert not Practice.objects.exists() and Loan.objects.count() == 4


def values_for(place: str, name: str) -> list[object]:
    """What may stand at one place of an address."""
    kits = list(Kit.objects.order_by("pk").values_list("code", flat=True))
    parts = list(Kit.objects.first().parts.values_list("code", flat=True))
    if place == "code":
        return parts if name.startswith("rentals:part") else kits
    known = {
        "part": parts,
        "form": ["csv", "xlsx"],
        "test": ["still", "flex", "lift"],
        "kind": ["kit"],
        "occasion": Message.Occasion.values,
        "token": ["unknown"],
    }
    return known.get(place, [1, 2, 3, 4])


def urls_of(name: str, entry) -> Iterator[str]:
    places = list(entry.pattern.converters)
    choices = product(*(values_for(place, name) for place in places))
    for values in islice(choices, MOST_OF_ONE_ADDRESS):
        yield reverse(name, kwargs=dict(zip(places, values, strict=True)))


def ways_to_ask(number: int) -> list[dict[str, str]]:
    """A page and a part of it; by day one address as a page, the next as a part."""
    both = [{}, {"HX-Request": "true"}]
    return both if BY_NIGHT else [both[number % 2]]


def test_no_page_writes(signed_in: Client, desk):
    answered, asked = set(), set()
    for number, (name, entry) in enumerate(ADDRESSES.values()):
        if name in KEEPS_A_TRACE:
            continue
        asked.add(name)
        for url in urls_of(name, entry):
            for headers in ways_to_ask(number):
                with connection.execute_wrapper(refuse_writes):
                    answer = signed_in.get(url, headers=headers)
                assert answer.status_code < 500, url
                if answer.streaming:
                    b"".join(answer.streaming_content)  # Sent to its end, the file is closed.
                if answer.status_code == 200:
                    answered.add(name)
    assert len(answered) > 60, sorted(asked - answered)


def test_a_page_that_writes_is_found(signed_in: Client):
    with connection.execute_wrapper(refuse_writes), pytest.raises(Written):
        Practice(name="Loud").save()
