"""Reading rosters under way: their rows as people, against the students on file."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Iterator, Mapping

from django.db.models import Q
from django.db.models.functions import Lower

from rentals.models import Enrolment, RosterDraft, Student
from rentals.roster.addresses import email_key
from rentals.roster.letters import Reading, readings
from rentals.roster.people import KEPT, Choices, Known, PersonRow, read_people, texts_of
from rentals.roster.questions import Dweller, postal_key
from rentals.roster.sheet import MAX_COLUMNS, SheetRow
from rentals.roster.swapped import ColumnDoubt, doubted_columns

_CHUNK = 500


def sheet_rows(draft: RosterDraft) -> list[SheetRow]:
    """Rows of a draft below its heads, as they were read from the file."""
    return [
        SheetRow(
            number,
            tuple(cells),
            {int(column): trouble for column, trouble in troubles.items()},
            width[0] if width else len(cells),
        )
        for number, cells, troubles, *width in draft.content["rows"]
    ]


def known_students(emails: Iterable[str]) -> dict[str, Student]:
    """Students on file by `email_key`, whatever capitals their addresses were written in."""
    keys = sorted({email_key(email) for email in emails if email})
    on_file: dict[str, Student] = {}
    for start in range(0, len(keys), _CHUNK):
        students = Student.objects.annotate(key=Lower("email")).filter(
            key__in=keys[start : start + _CHUNK]
        )
        on_file.update({email_key(student.email): student for student in students})
    return on_file


def people_of(draft: RosterDraft, *, each: Callable[[], object] = lambda: None) -> list[PersonRow]:
    """Every row of a draft as a person, with what is wrong, what was decided, and how it differs
    from the record. `each` is called after each row.
    """
    content = draft.content
    rows = sheet_rows(draft)
    fixes = {int(number): texts for number, texts in content["fixes"].items()}
    answers = {int(number): texts for number, texts in content.get("answers", {}).items()}
    left_out, keep = frozenset(content["left_out"]), frozenset(content["keep"])
    texts = [texts_of(row, content["fields"], fixes.get(row.number, {})) for row in rows]
    return read_people(
        rows,
        content["fields"],
        heads=len(content["heads"]),
        width=content.get("width", MAX_COLUMNS),
        on_file=dict(_students_on_file(draft, (text["email"] for text in texts))),
        choices=Choices(fixes, left_out, keep, answers),
        at_home=_dwellers(texts),
        each=each,
    )


def _dwellers(texts: Iterable[Mapping[str, str]]) -> dict[str, list[Dweller]]:
    """Students on file at the postal addresses of a roster, by `postal_key`."""
    with_street = [text for text in texts if postal_key(text)]
    postcodes = sorted({text["postcode"] for text in with_street if text["postcode"]})
    cities = sorted({text["city"] for text in with_street if not text["postcode"]})
    wanted = [
        *((Q(postcode__in=chunk)) for chunk in _chunks(postcodes)),
        *((Q(postcode="", city__in=chunk)) for chunk in _chunks(cities)),
    ]
    homes: dict[str, list[Dweller]] = {}
    for where in wanted:
        students = Student.objects.filter(where).exclude(street="").order_by("pk")
        for person in students.values("name", "email", "street", "city", "postcode"):
            dweller = Dweller("on file", person["name"], person["email"])
            texts_on_file = {name: str(text) for name, text in person.items()}
            homes.setdefault(postal_key(texts_on_file), []).append(dweller)
    return homes


def _chunks(texts: list[str]) -> Iterator[list[str]]:
    return (texts[start : start + _CHUNK] for start in range(0, len(texts), _CHUNK))


def lacks_columns(draft: RosterDraft) -> bool:
    """Whether nobody has said yet which columns hold the names and the addresses."""
    fields = set(draft.content["fields"])
    return "email" not in fields or not {"name", "first_name", "last_name"} & fields


def column_doubt(draft: RosterDraft) -> ColumnDoubt | None:
    """What the columns seem to be rather than what their heads say, until somebody has said it."""
    content = draft.content
    if content.get("columns_said", True):
        return None
    return doubted_columns(sheet_rows(draft), content["fields"], content["heads"])


def letter_readings(draft: RosterDraft) -> tuple[Reading, ...]:
    """The ways in which the letters of a draft's file can be read; none where that is certain."""
    original = draft.content.get("original", "")
    return readings(base64.b64decode(original)) if original else ()


def _students_on_file(draft: RosterDraft, emails: Iterable[str]) -> Iterator[tuple[str, Known]]:
    on_run = dict(
        Enrolment.objects.filter(run_id=draft.run_id).values_list("student_id", "withdrawn_on")
    )
    for key, student in known_students(emails).items():
        person = {name: str(getattr(student, name) or "") for name in KEPT}
        person["country"] = str(student.country)
        yield key, Known(person, student.pk in on_run, bool(on_run.get(student.pk)))


def column_samples(draft: RosterDraft, rows: int = 3) -> list[str]:
    """For each column of a draft the first few texts in it, to tell what it holds."""
    samples = []
    sheet = sheet_rows(draft)
    for column in range(len(draft.content["heads"])):
        texts = (
            row.cells[column] for row in sheet if column < len(row.cells) and row.cells[column]
        )
        samples.append(", ".join(text[:40] for text, _ in zip(texts, range(rows), strict=False)))
    return samples
