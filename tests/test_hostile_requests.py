"""No address and no form answers nonsense with a server error, signed in or not."""

import random
import re
import uuid
import zlib
from collections.abc import Iterator

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management.color import no_style
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import Kit, Shortfall
from rentals.row_numbers import LONGEST, RowNumberConverter, row_number
from tests.factories import assigned_loan, complete_kit, packed_loan
from tests.hour import BY_NIGHT

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

OURS = ("rentals", "readiness", "bench_reports", "student_bench")
NONSENSE = [
    "",
    " ",
    "\x00",
    "-1",
    "0",
    "999999999999999999999999",
    "1e400",
    "NaN",
    "2026-13-45",
    "<script>alert(1)</script>",
    "' OR 1=1 --",
    "{{ 7*7 }}",
    "../../../etc/passwd",
    "ÿ\u202e\U0001f9ff",
    "K0001O",
    "x" * 4000,
]
NUMBERS = [
    "-1",
    "0",
    str(2**31 - 1),
    str(2**31),
    "9" * LONGEST,
    str(2**63 - 1),
    str(2**63),
    str(-(2**63) - 1),
    str(10**30),
    "9" * 5000,
]
BY_DAY = {"9" * LONGEST, NUMBERS[-1]}
"""The largest that is an address, above each size of whole number, and one that no size holds."""
ROUNDS = {"sqlite": (True,), "postgresql": (True, False)}
"""Whether an address leads to rows that are there, round by round. SQLite takes nearly everything;
the stricter database is asked for what is not there as well. By night both are asked for
everything, and a second time with other nonsense.
"""
if BY_NIGHT:
    ROUNDS = dict.fromkeys(ROUNDS, (True, True, False, False))
BYTES = [
    b"",
    b"\x00" * 64,
    b"PK\x03\x04junk",
    b"\x89PNG\r\n\x1a\n",
    b"\xff\xfe" + b"a\x00" * 50,
    b"a,b\n1,2\n",
]


def patterns(
    resolver: URLResolver, spaces: tuple[str, ...] = ()
) -> Iterator[tuple[str, URLPattern]]:
    """Every named address of our own screens."""
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from patterns(entry, (*spaces, entry.namespace) if entry.namespace else spaces)
        elif entry.name and spaces and spaces[0] in OURS:
            yield ":".join((*spaces, entry.name)), entry


def routes(resolver: URLResolver, before: str = "") -> Iterator[str]:
    """Every address as it is written down, with its places in angle brackets."""
    for entry in resolver.url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from routes(entry, route)
        else:
            yield route


ADDRESSES = {f"{name} {entry.pattern}": (name, entry) for name, entry in patterns(get_resolver())}
NUMBERED = [route for route in routes(get_resolver()) if "<row:" in route]


@pytest.fixture(scope="module")
def desk(django_db_setup, django_db_blocker) -> Iterator[None]:
    """One of everything, so that addresses lead to something real: made once, for all tests."""
    with django_db_blocker.unblock(), transaction.atomic():
        number_rows_from_one()
        assigned_loan()
        out, back = packed_loan(), packed_loan()
        dispatch(out.kit)
        arrive(dispatch(back.kit).kit)
        line = back.packing_lines.first()
        now = timezone.now()
        Shortfall.objects.create(loan=back, packing_line=line, kind="missing", opened_at=now)
        complete_kit(cleared=False)
        yield
        transaction.set_rollback(True)


def by_turns(address: str) -> list[pytest.MarkDecorator]:
    """By day each address is called on one of the databases, by night on both."""
    first = zlib.crc32(address.encode()) % 2 == 0
    return [] if first == (connection.vendor == "sqlite") else [pytest.mark.night]


def number_rows_from_one() -> None:
    """So that row 1 is there, whatever tests ran before."""
    with connection.cursor() as cursor:
        sequences = []
        for sequence in connection.introspection.sequence_list():
            if sequence["table"].startswith(OURS):
                cursor.execute(f"SELECT 1 FROM {sequence['table']} LIMIT 1")
                if not cursor.fetchone():
                    sequences.append(sequence)
        for statement in connection.ops.sequence_reset_by_name_sql(no_style(), sequences):
            cursor.execute(statement)


def filled(entry: URLPattern, chance: random.Random, *, real: bool) -> dict[str, object]:
    """Values for the places of an address: rows that are there, or nonsense of the right type."""
    values: dict[str, object] = {}
    for place, converter in entry.pattern.converters.items():
        if isinstance(converter, RowNumberConverter):
            values[place] = 1 if real else chance.choice([0, 987654321, 10**18 - 1])
        elif real and place in ("code", "part"):
            kits = Kit.objects.order_by("pk")
            kit = chance.choice(kits) if place == "code" else kits.first()
            values[place] = kit.code if place == "code" else kit.parts.first().code
        else:
            values[place] = (
                "csv"
                if real
                else chance.choice([text for text in NONSENSE if text.strip("/ ")][:9])
            )
    return values


def names_of_fields() -> list[str]:
    """Names that our forms look for, with some that they do not."""
    return [
        "q",
        "page",
        "state",
        "kind",
        "place",
        "show",
        "next",
        "form_key",
        "kit",
        "kit_type",
        "count",
        "note",
        "serial",
        "part",
        "to",
        "reason",
        "quantity",
        "batch_number",
        "expires_on",
        "counted",
        "name",
        "currency",
        "tick",
        "scan",
        "parcel_mass_g",
        "tracking_number",
        "carrier",
        "due_on",
        "amount",
        "text",
        "finish",
        "do",
        "shown",
        "sheet",
        "start",
        "code",
        "email",
        "subject",
        "body_text",
        "test",
        "unit",
        "rate_hz",
        "volts",
        "part_kind",
        "days",
        "starts_on",
        "ends_on",
        "post_by",
        "return_by",
        "deposit",
        "country",
        "messages",
        "columns",
        "still",
        "to_address",
        "window_start_s",
        "battery_v",
        "street",
        "order",
        "tracked_by",
        "mass_g",
        "replacement_price",
        "wording",
        "run",
        "loan",
        "occasion",
        "pk",
        "untick",
        "batch",
        "stock_item",
        "like",
        "edition",
        "quantity_back",
        "asked",
        "act",
    ]


@pytest.mark.parametrize(
    "address", [pytest.param(name, marks=by_turns(name)) for name in sorted(ADDRESSES)]
)
def test_nonsense_is_answered_in_words(desk, signed_in, address):
    name, entry = ADDRESSES[address]
    chance = random.Random(address)  # the address is the seed: a failure repeats by its name
    seen: set[str] = set()
    for real in ROUNDS[connection.vendor]:
        try:
            url = reverse(name, kwargs=filled(entry, chance, real=real))
        except Exception:  # an address that cannot even be written is none that can be asked for
            continue
        asked = _asked_again if url in seen else _asked_first
        seen.add(url)
        for answer in asked(signed_in, url, chance):
            assert answer.status_code < 500, f"{answer.status_code} at {url}"
            assert "no-store" in answer["Cache-Control"], f"kept by browsers: {url}"
    numbers = {field: chance.choice(NUMBERS) for field in names_of_fields()}
    url = reverse(name, kwargs=filled(entry, chance, real=True))
    data = numbers | {"form_key": form_key(chance)}
    for answer in (signed_in.get(url, data), signed_in.post(url, data)):
        assert answer.status_code < 500, f"{answer.status_code} at {url} with {numbers}"


def _asked_first(client: Client, url: str, chance: random.Random) -> Iterator[HttpResponse]:
    """Nonsense in a query and in a form, nothing at all, and what is no form."""
    data = _nonsense(chance)
    yield client.get(url, data)
    yield client.post(url, data)
    # The text of an address and of a body is judged before any row is looked up.
    if connection.vendor == "sqlite":
        yield client.get(url)
        broken = "multipart/form-data; boundary=x"
        yield client.post(url, b"\x00\xff not a form", content_type=broken)


def _asked_again(client: Client, url: str, chance: random.Random) -> Iterator[HttpResponse]:
    """Other nonsense, as a part of the page, and with files."""
    data = _nonsense(chance)
    yield client.get(url, data, headers={"HX-Request": "true"})
    files = {
        field: SimpleUploadedFile(chance.choice(NONSENSE)[:90] or "x", chance.choice(BYTES))
        for field in ("file", "files", "photo")
    }
    yield client.post(url, data | files)


def _nonsense(chance: random.Random) -> dict[str, object]:
    nonsense = {field: chance.choice(NONSENSE) for field in names_of_fields()}
    return nonsense | {"form_key": form_key(chance)}


@pytest.mark.parametrize(
    "number",
    [
        pytest.param(
            number,
            marks=[
                *([] if number in BY_DAY else [pytest.mark.night]),
                # What is no number of a row is no address, and no database hears of it.
                *([] if row_number(number) is not None else [pytest.mark.any_database]),
            ],
        )
        for number in NUMBERS
    ],
    ids=lambda text: f"{len(text)} digits, {text[:5]}",
)
def test_no_number_in_an_address_is_too_much(desk, signed_in, number):
    kit = Kit.objects.order_by("pk").first().code
    for route in NUMBERED:
        ahead, last = re.sub("<str:[a-z]+>", kit, route).rsplit("<row:", 1)
        # A thing that is there with a part that cannot be, and neither there.
        for first in {"1", number}:
            url = "/" + re.sub("<row:[a-z_]+>", first, ahead) + re.sub("^[a-z_]+>", number, last)
            asked = [signed_in.get(url)]
            # What is no number leads to no view, however it is asked for.
            if BY_NIGHT or row_number(number) is not None:
                asked.append(signed_in.post(url, {"q": "K"}))
            for answer in asked:
                assert answer.status_code < 500, f"{answer.status_code} at {url}"


def test_every_number_in_an_address_is_one_that_a_row_can_have():
    assert len(NUMBERED) > 40
    assert [route for route in routes(get_resolver()) if "<int:" in route] == []


def form_key(chance: random.Random) -> str:
    """A key as forms hold it."""
    return str(uuid.UUID(int=chance.getrandbits(128), version=4))


# Whoever holds the private link gets in; their own tests try wrong ones.
OPEN_TO_STRANGERS = {"rentals:calendar_feed"}
STUDENTS_PAGES = "my-kit/"


def asks_for_sign_in(address: str) -> bool:
    name, entry = ADDRESSES[address]
    return name not in OPEN_TO_STRANGERS and not str(entry.pattern).startswith(STUDENTS_PAGES)


@pytest.mark.any_database
@pytest.mark.parametrize("address", sorted(key for key in ADDRESSES if asks_for_sign_in(key)))
def test_strangers_get_nothing_but_the_way_to_sign_in(desk, owner, address):
    name, entry = ADDRESSES[address]
    url = reverse(name, kwargs=filled(entry, random.Random(address), real=True))
    for answer in (Client().get(url), Client().post(url, {"q": "K"})):
        assert answer.status_code in (302, 403, 405)
        if answer.status_code == 302:
            assert "/account/" in answer.url
