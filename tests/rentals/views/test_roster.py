"""A roster goes from file to students through its preview; nothing is saved before it is clean."""

import io
import uuid
from datetime import date

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from rentals.models import CourseRun, Enrolment, RosterDraft, Student
from rentals.roster.columns import match_columns
from rentals.roster.people import KEPT
from rentals.roster.reading import read_roster
from tests.factories import CourseRunFactory, EnrolmentFactory, StudentFactory
from tests.hour import most

pytestmark = pytest.mark.django_db

CLEAN = (
    b"Name,E-mail,Street,City,Postcode,Country\n"
    b"Ada Test,ada@x.example,Lane 1,Rosinburg,12345,DE\n"
    b"Bea Test,bea@x.example,,,,\n"
)
BAD = (
    b"Name,E-mail,Country,Shoe size\n"
    b"Ada Test,ada@x.example,DE,38\n"
    b",nobody@x.example,DE,40\n"
    b"Cai Test,not an address,DE,41\n"
    b"Dee Test,ADA@x.example,UK,42\n"
    b"Eli Test,eli@x.example,Narnia,43\n"
)


def send(client: Client, run: CourseRun, content: bytes, name: str = "roster.csv"):
    file = SimpleUploadedFile(name, content)
    url = reverse("rentals:run_import", args=[run.pk])
    return client.post(url, {"file": file, "form_key": str(uuid.uuid4())}, follow=True)


def decide(client: Client, draft: RosterDraft, act: str, **fields: str):
    data = {"do": act, "form_key": str(uuid.uuid4()), **fields}
    return client.post(draft.get_absolute_url(), data, follow=True)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_a_clean_roster_is_imported_after_a_look(signed_in: Client) -> None:
    run = CourseRunFactory()
    shown = text_of(send(signed_in, run, CLEAN))
    assert "2 students to enrol, 2 of them new" in shown
    assert not Student.objects.exists()
    draft = RosterDraft.objects.get()
    after = decide(signed_in, draft, "import")
    assert after.redirect_chain[-1][0] == run.get_absolute_url()
    assert "2 enrolled, 2 of them new" in text_of(after)
    ada = Student.objects.get(email="ada@x.example")
    assert (ada.name, ada.city, ada.country.code) == ("Ada Test", "Rosinburg", "DE")
    assert run.enrolments.count() == 2
    draft.refresh_from_db()
    assert draft.content == {} and draft.imported_at


def test_the_preview_names_every_bad_row_and_saves_nothing(signed_in: Client) -> None:
    run = CourseRunFactory()
    shown = text_of(send(signed_in, run, BAD))
    assert "4 rows stand in the way" in shown
    for sentence in (
        "Cell A3: The name is missing.",
        "Cell B4: “not an address” is not an e-mail address",
        "Cell B5: The same e-mail address stands in row 2.",
        "Cell C6: “Narnia” is no country known here",
        "Columns not used: Shoe size.",
    ):
        assert sentence in shown
    refused = text_of(decide(signed_in, RosterDraft.objects.get(), "import"))
    assert "Nothing was saved. Rows 3, 4, 5, 6 still stand in the way" in refused
    assert not Student.objects.exists() and not Enrolment.objects.exists()


def test_rows_are_corrected_in_the_preview_and_left_out_on_purpose(signed_in: Client) -> None:
    run = CourseRunFactory()
    send(signed_in, run, BAD)
    draft = RosterDraft.objects.get()
    fields = {
        "row_4_email": "cai@x.example",
        "row_6_country": "Germany",
        "shown": "3,4,5,6,",
        "row_3_leave": "on",
    }
    shown = text_of(decide(signed_in, draft, "save", **fields))
    assert "1 row stands in the way" in shown
    shown = text_of(decide(signed_in, draft, "leave_bad", shown="5,"))
    assert "3 students to enrol, 3 of them new; 2 left out" in shown
    decide(signed_in, draft, "import")
    assert sorted(Student.objects.values_list("email", flat=True)) == [
        "ada@x.example",
        "cai@x.example",
        "eli@x.example",
    ]


def test_corrections_are_kept_over_reloads_and_when_the_import_is_refused(
    signed_in: Client,
) -> None:
    send(signed_in, CourseRunFactory(), BAD)
    draft = RosterDraft.objects.get()
    decide(signed_in, draft, "import", row_3_name="Nobody Test", shown="3,4,5,6,")
    assert (
        'value="Nobody Test"'
        in signed_in.get(draft.get_absolute_url() + "?show=all").content.decode()
    )
    assert not Student.objects.exists()


def test_the_same_form_twice_and_the_same_file_twice_do_nothing_twice(signed_in: Client) -> None:
    run = CourseRunFactory()
    send(signed_in, run, CLEAN)
    draft = RosterDraft.objects.get()
    data = {"do": "import", "form_key": str(uuid.uuid4())}
    for _ in range(2):
        signed_in.post(draft.get_absolute_url(), data)
    decide(signed_in, draft, "import")
    assert (Student.objects.count(), run.enrolments.count()) == (2, 2)
    shown = text_of(send(signed_in, run, CLEAN))
    assert shown.count("Already on this run") == 2
    again = RosterDraft.objects.get(imported_at=None)
    shown = text_of(decide(signed_in, again, "leave_enrolled", shown="2,3,"))
    assert "every row is left out" in shown
    assert "nobody to import" in text_of(decide(signed_in, again, "import"))
    assert (Student.objects.count(), run.enrolments.count()) == (2, 2)


def test_known_students_are_updated_or_kept_as_chosen(signed_in: Client) -> None:
    StudentFactory(name="Ada Old", email="Ada@x.example", city="Old Town")
    StudentFactory(name="Bea Old", email="bea@x.example")
    run = CourseRunFactory()
    shown = text_of(send(signed_in, run, CLEAN))
    assert "Old Town" in shown and "Update the record" in shown
    draft = RosterDraft.objects.get()
    fields = {"shown": "2,3,", "row_2_record": "update", "row_3_record": "keep"}
    assert "1 known record updated" in text_of(decide(signed_in, draft, "import", **fields))
    ada, bea = Student.objects.order_by("pk")
    assert (ada.name, ada.city, ada.email) == ("Ada Test", "Rosinburg", "Ada@x.example")
    assert bea.name == "Bea Old"
    assert Enrolment.objects.filter(run=run, withdrawn_on=None).count() == 2


def test_who_withdrew_is_enrolled_again(signed_in: Client) -> None:
    run = CourseRunFactory()
    bea = StudentFactory(name="Bea Test", email="bea@x.example")
    gone = EnrolmentFactory(run=run, student=bea, withdrawn_on=run.starts_on)
    send(signed_in, run, CLEAN)
    decide(signed_in, RosterDraft.objects.get(), "import")
    gone.refresh_from_db()
    assert gone.withdrawn_on is None
    assert run.enrolments.count() == 2


def test_heads_that_say_nothing_lead_to_the_question_which_column_is_what(
    signed_in: Client,
) -> None:
    run = CourseRunFactory()
    shown = text_of(send(signed_in, run, b"Who,Where to write\nAda Test,ada@x.example\n"))
    assert "Which column is what?" in shown and "ada@x.example" in shown
    draft = RosterDraft.objects.get()
    url = reverse("rentals:roster_columns", args=[run.pk, draft.pk])
    refused = text_of(signed_in.post(url, {"column_0": "name", "column_1": "name"}))
    assert (
        "Name is chosen twice" in refused
        and "Say which column holds the e-mail addresses" in refused
    )
    after = text_of(signed_in.post(url, {"column_0": "name", "column_1": "email"}, follow=True))
    assert "1 student to enrol" in after


def test_an_unfinished_roster_is_found_again_and_can_be_discarded(signed_in: Client) -> None:
    run = CourseRunFactory()
    send(signed_in, run, BAD, "spring.csv")
    assert "spring.csv" in text_of(signed_in.get(run.get_absolute_url()))
    assert "spring.csv" in text_of(signed_in.get(reverse("rentals:run_import", args=[run.pk])))
    draft = RosterDraft.objects.get()
    discard = reverse("rentals:roster_discard", args=[run.pk, draft.pk])
    assert "nobody of it is enrolled" in signed_in.get(discard).content.decode()
    signed_in.post(discard)
    assert not RosterDraft.objects.exists()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "The file is empty"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"PK\x03\x04broken", "damaged"),
        (b"Name,E-mail\n", "no students below"),
        (b"x" * (5 * 1024 * 1024), "larger than 4 MB"),
    ],
)
def test_bad_files_are_answered_with_a_sentence(
    signed_in: Client, content: bytes, said: str
) -> None:
    response = send(signed_in, CourseRunFactory(), content)
    assert response.status_code == 422
    assert said in text_of(response)
    assert not RosterDraft.objects.exists()


def test_after_going_back_another_file_is_taken_and_not_swallowed(signed_in: Client) -> None:
    run = CourseRunFactory()
    page = signed_in.get(reverse("rentals:run_import", args=[run.pk])).content.decode()
    assert 'name="form_key"' not in page
    for content, count in ((CLEAN, 2), (BAD, 5)):
        file = SimpleUploadedFile("roster.csv", content)
        signed_in.post(reverse("rentals:run_import", args=[run.pk]), {"file": file})
        assert len(RosterDraft.objects.get().content["rows"]) == count


def test_a_workbook_with_a_date_for_a_house_number_names_the_cell(signed_in: Client) -> None:
    book, file = openpyxl.Workbook(), io.BytesIO()
    book.active.append(("Name", "E-mail", "House number"))
    book.active.append(("Ada Test", "ada@x.example", date(2026, 5, 1)))
    book.save(file)
    shown = text_of(send(signed_in, CourseRunFactory(), file.getvalue(), "roster.xlsx"))
    assert "Cell C2 holds a date (2026-05-01) where text is expected" in shown
    draft = RosterDraft.objects.get()
    shown = text_of(decide(signed_in, draft, "save", row_2_street="Lane 1/5", shown="2,"))
    assert "1 student to enrol" in shown


def test_no_file_at_all(signed_in: Client) -> None:
    url = reverse("rentals:run_import", args=[CourseRunFactory().pk])
    assert "Choose the roster file or paste the table first" in text_of(signed_in.post(url, {}))


@pytest.mark.parametrize("act", ["save", "import", "nonsense", ""])
def test_a_forged_preview_form_changes_nothing_it_may_not(signed_in: Client, act: str) -> None:
    run = CourseRunFactory()
    send(signed_in, run, CLEAN)
    draft = RosterDraft.objects.get()
    forged = {
        "row_99_email": "x@x.example",
        "row_2_pk": "7",
        "shown": "9,a,,-1,2",
        "page": "../x",
        "show": "<b>",
    }
    assert decide(signed_in, draft, act, **forged).status_code == 200
    assert not Student.objects.filter(email="x@x.example").exists()


def test_the_address_of_a_replaced_roster_leads_to_the_one_that_waits(signed_in: Client) -> None:
    run = CourseRunFactory()
    send(signed_in, run, CLEAN)
    old = RosterDraft.objects.get().get_absolute_url()
    send(signed_in, run, CLEAN)
    answer = signed_in.get(old, follow=True)
    assert answer.redirect_chain == [(reverse("rentals:run_import", args=[run.pk]), 302)]
    assert "another file took its place" in answer.content.decode()


def test_a_draft_of_another_run_is_not_found(signed_in: Client) -> None:
    send(signed_in, CourseRunFactory(), CLEAN)
    other = CourseRunFactory()
    assert (
        signed_in.get(
            reverse("rentals:roster", args=[other.pk, RosterDraft.objects.get().pk])
        ).status_code
        == 404
    )


def test_a_stranger_is_sent_to_the_sign_in(client: Client, owner) -> None:
    run = CourseRunFactory()
    assert "login" in client.get(reverse("rentals:run_import", args=[run.pk])).url


@pytest.mark.parametrize("rows", [2, 60])
def test_the_preview_takes_the_same_few_queries_however_long(
    signed_in, django_assert_max_num_queries, rows
) -> None:
    content = b"Name,E-mail\n" + b"".join(b"P %d,bad%d\n" % (n, n) for n in range(rows))
    send(signed_in, CourseRunFactory(), content)
    with django_assert_max_num_queries(9):
        response = signed_in.get(RosterDraft.objects.get().get_absolute_url())
    assert response.content.decode().count('class="roster-row') == min(rows, 50)


@pytest.mark.slow
def test_thousands_of_students_are_imported(signed_in: Client) -> None:
    run, count = CourseRunFactory(), most(1500, 5000)
    content = b"Name,E-mail,City\n" + b"".join(
        b"P %d,p%d@x.example,Town\n" % (n, n) for n in range(count)
    )
    send(signed_in, run, content)
    decide(signed_in, RosterDraft.objects.get(), "import")
    assert run.enrolments.count() == count


def paste(client: Client, run: CourseRun, table: str, **more):
    url = reverse("rentals:run_import", args=[run.pk])
    return client.post(url, {"table": table, **more}, follow=True)


@pytest.mark.parametrize("between", [",", ";", "\t"])
def test_a_pasted_roster_has_the_same_preview(signed_in: Client, between: str) -> None:
    run = CourseRunFactory()
    shown = text_of(paste(signed_in, run, CLEAN.decode().replace(",", between)))
    assert "Pasted table for" in shown and "2 students to enrol, 2 of them new" in shown
    assert not Student.objects.exists()
    decide(signed_in, RosterDraft.objects.get(), "import")
    assert set(Student.objects.values_list("city", flat=True)) == {"Rosinburg", ""}


def test_a_pasted_table_that_is_not_taken_stays_in_its_box(signed_in: Client) -> None:
    run = CourseRunFactory()
    refused = paste(signed_in, run, "Name,E-mail\n", form_key=str(uuid.uuid4()))
    assert refused.status_code == 422 and "no students below" in text_of(refused)
    assert "Name,E-mail</textarea>" in text_of(refused).replace(" </textarea>", "</textarea>")
    both = paste(signed_in, run, CLEAN.decode(), file=SimpleUploadedFile("r.csv", BAD))
    assert "Take one of them away" in text_of(both) and "Bea Test" in text_of(both)
    assert "Choose the roster file" in text_of(paste(signed_in, run, "  \n \n"))
    assert not RosterDraft.objects.exists()


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_the_table_to_fill_in_has_headings_that_are_all_read(signed_in: Client, form: str) -> None:
    empty = signed_in.get(reverse("rentals:roster_template", args=[form]))
    assert f'filename="roster.{form}"' in empty["Content-Disposition"]
    columns = match_columns(read_roster(empty.content))
    assert columns.lacking == () and columns.ignored == ()
    assert set(columns.fields) == set(KEPT) | {"street2"}
    refused = send(signed_in, CourseRunFactory(), empty.content, f"roster.{form}")
    assert "no students below" in text_of(refused)


def test_there_is_no_table_to_fill_in_of_another_form(signed_in: Client) -> None:
    assert signed_in.get(reverse("rentals:roster_template", args=["pdf"])).status_code == 404
