"""Labels on screen: what is offered, what is printed, and what is said when it cannot be."""

import re
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from rentals.codes import code_link, make_code
from rentals.models import Kit, KitType, LabelSheet, LeadSet, Practice, Student
from rentals.paper.sheets import KIT_SHEET, SHEETS, TAG_SHEET
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    StudentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)
from tests.rentals.paper.reading import codes_in, page_sizes, picture, text_of

pytestmark = pytest.mark.django_db

PAGE, PDF = "rentals:labels", "rentals:labels_pdf"


@pytest.fixture
def practice() -> Practice:
    desk = Practice.current()
    desk.name, desk.email, desk.street, desk.city = (
        "Ease at the Instrument",
        "desk@ease.example",
        "Hall 1",
        "Rosinburg",
    )
    desk.postcode, desk.country, desk.site_url = "12345", "DE", "https://kits.ease.example"
    desk.save()
    return desk


def shown(client, name: str = PAGE, **asked: object) -> str:
    answer = client.get(reverse(name), asked)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def printed(client, **asked: object) -> bytes:
    answer = client.get(reverse(PDF), asked)
    assert answer["Content-Type"] == "application/pdf", answer.content.decode()
    return answer.content


def squeezed(pdf: bytes) -> str:
    return text_of(pdf).replace(" ", "")


def test_a_kit_label_names_its_owner_and_its_code_is_read_back(signed_in, practice):
    kit = complete_kit()
    pdf = printed(signed_in, kind="kit", kit=kit.code)
    assert "desk@ease.example" in text_of(pdf) and "Ease at the Instrument" in text_of(pdf)
    assert codes_in(picture(pdf)) == [code_link("https://kits.ease.example", kit.code)]


def test_parts_and_leads_of_one_kit(signed_in, practice):
    kit, other = complete_kit(), complete_kit()
    parts = squeezed(printed(signed_in, kind="part", kit=kit.code))
    assert all(part.code in parts for part in kit.parts.all())
    assert not any(part.code in parts for part in other.parts.all())
    tags = printed(signed_in, kind="lead", kit=kit.code)
    code = kit.parts.get(kind="lead_set").code
    leads = LeadSet.objects.get(code=code).leads.count()
    assert leads == 3
    assert codes_in(picture(tags)) == [code_link("https://kits.ease.example", code)] * leads
    assert "3 labels on 1 sheet." in shown(signed_in, kind="lead", kit=kit.code)


def test_ticked_ones_only_and_an_unknown_code_brings_none(signed_in):
    kits = [complete_kit() for _ in range(3)]
    pdf = squeezed(printed(signed_in, kind="kit", code=[kits[0].code, kits[2].code]))
    assert [kit.code in pdf for kit in kits] == [True, False, True]
    answer = signed_in.get(reverse(PDF), {"kind": "kit", "code": make_code("K", 9999)})
    assert answer.status_code == 422
    assert "no label to print" in answer.content.decode()


def test_the_filter_and_the_run_narrow_what_is_printed(signed_in):
    loan, other = packed_loan(), complete_kit()
    run = loan.enrolment.run
    page = shown(signed_in, kind="kit", run=run.pk)
    assert "1 label on 1 sheet." in page and f'value="{other.code}"' not in page
    assert other.code in squeezed(printed(signed_in, kind="kit", q=other.code.lower()))
    parts = squeezed(printed(signed_in, kind="part", run=run.pk))
    assert loan.kit.parts.first().code in parts and other.parts.first().code not in parts


def test_retired_kits_and_lost_parts_get_no_label(signed_in):
    kit = complete_kit()
    Kit.objects.filter(pk=kit.pk).update(state="retired")
    assert "No label to print" in shown(signed_in, kind="kit", kit=kit.code)


@pytest.mark.parametrize("start", ["0", "22", "x", ""])
def test_a_start_that_the_sheet_does_not_have_is_said(signed_in, start):
    complete_kit()
    for name in (PAGE, PDF):
        answer = signed_in.get(reverse(name), {"kind": "kit", "start": start})
        assert "1 thing to mend" in answer.content.decode()


def test_ticks_and_the_loan_survive_a_mistake(signed_in):
    kits, loan = [complete_kit() for _ in range(2)], packed_loan()
    asked = {"kind": "kit", "start": 99, "code": [kit.code for kit in kits], "q": "Two"}
    page = signed_in.get(reverse(PDF), asked).content.decode()
    assert all(f'type="hidden" name="code" value="{kit.code}"' in page for kit in kits)
    assert 'type="hidden" name="q" value="Two"' in page
    page = signed_in.get(
        reverse(PDF), {"kind": "address", "loan": loan.pk, "start": 99}
    ).content.decode()
    assert f'type="hidden" name="loan" value="{loan.pk}"' in page


def test_a_loan_that_is_none_is_no_label(signed_in):
    for number in ("999", "x", "9" * 30):
        assert signed_in.get(reverse(PAGE), {"kind": "address", "loan": number}).status_code == 200
        assert signed_in.get(reverse(PDF), {"kind": "address", "loan": number}).status_code == 422


def test_the_drawing_shows_used_and_printed_labels(signed_in):
    kits = [complete_kit() for _ in range(2)]
    page = shown(signed_in, kind="kit", start=20)
    assert page.count('class="label-used"') == 19
    assert page.count('class="label-print"') == 2
    assert "2 labels on 1 sheet." in page
    assert "2 labels on 2 sheets." in shown(signed_in, kind="kit", start=21)
    pdf = printed(signed_in, kind="kit", start=21)
    assert len(PdfReader(BytesIO(pdf)).pages) == len(kits)


def test_another_kind_begins_on_its_own_sheet(signed_in):
    complete_kit()
    page = shown(signed_in, kind="part", of="kit", sheet=KIT_SHEET.name, start=9, code="K0001O")
    assert f'<option value="{TAG_SHEET.name}" selected>' in page
    assert re.search(r'name="start" value="1"', page)


def test_a_label_too_small_for_its_code_is_refused_in_words(signed_in):
    complete_kit()
    LabelSheet.objects.create(
        name="Tiny",
        columns=10,
        rows=20,
        label_width=12,
        label_height=8,
        pitch_across=12,
        pitch_down=8,
        margin_left=5,
        margin_top=5,
    )
    answer = signed_in.get(reverse(PDF), {"kind": "kit", "sheet": "Tiny"})
    assert answer.status_code == 422
    assert "the QR code needs" in answer.content.decode()


def test_the_nudge_moves_the_print_and_the_calibration_page_has_the_sheets_size(signed_in):
    complete_kit()
    plain, moved = (printed(signed_in, kind="kit", nudge_right=mm) for mm in ("", "5"))
    columns = [min(row.index(False) for row in dark(pdf) if False in row) for pdf in (plain, moved)]
    assert columns[1] - columns[0] == pytest.approx(5 / 25.4 * 100, abs=1.5)
    answer = signed_in.get(
        reverse("rentals:calibration"), {"sheet": "66.7 x 25.4 mm, 3 x 10 (US Letter)"}
    )
    assert page_sizes(answer.content) == [pytest.approx((612, 792), abs=0.1)]
    far = signed_in.get(reverse(PDF), {"kind": "kit", "nudge_right": "400"})
    assert far.status_code == 422


def dark(pdf: bytes) -> list[list[bool]]:
    image = picture(pdf, dpi=100)
    width, data = image.width, image.tobytes()
    return [[value > 128 for value in data[i : i + width]] for i in range(0, len(data), width)]


def test_address_labels_of_a_run_and_who_gets_none(signed_in, practice):
    run = CourseRunFactory()
    loans = [assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run)) for _ in range(3)]
    streets = [loan.enrolment.student.street for loan in loans]
    Student.objects.filter(pk=loans[1].enrolment.student_id).update(street="", city="")
    page = shown(signed_in, kind="address", run=run.pk)
    assert "2 labels on 1 sheet." in page
    assert f"are not known: {loans[1].enrolment.student.name}." in page
    text = text_of(printed(signed_in, kind="address", run=run.pk))
    assert [street in text for street in streets] == [True, False, True]
    back = text_of(printed(signed_in, kind="return", run=run.pk))
    assert back.count("Hall 1") == 3


def test_labels_of_one_loan(signed_in, practice):
    loan, other = packed_loan(), packed_loan()
    page = shown(signed_in, kind="address", loan=loan.pk)
    assert (
        f'Parcel of <a href="{loan.get_absolute_url()}">{loan.enrolment.student.name}</a>' in page
    )
    text = text_of(printed(signed_in, kind="address", loan=loan.pk))
    assert loan.enrolment.student.street in text and other.enrolment.student.street not in text
    assert f"{loan.parcel_mass_g} g" in text


def test_no_return_label_without_an_address_of_ones_own(signed_in):
    loan = packed_loan()
    page = shown(signed_in, kind="return", loan=loan.pk)
    assert "no address to send back to" in page and "No label to print" in page
    assert signed_in.get(reverse(PDF), {"kind": "return", "loan": loan.pk}).status_code == 422


def test_what_cannot_be_printed_is_named_before_and_counted_after(
    signed_in, practice, no_fonts_found
):
    kit_type = KitTypeFactory(name="Kit 🎻")
    kit = complete_kit(kit_type)
    page = shown(signed_in, kind="kit", kit=kit.code)
    assert "Cannot be printed" in page and "<li>Kit 🎻 (U+1F3BB)</li>" in page
    answer = signed_in.get(reverse(PDF), {"kind": "kit", "kit": kit.code})
    assert answer["X-Unprintable"] == "1"
    KitType.objects.filter(pk=kit_type.pk).update(name="Plain kit")
    assert "Cannot be printed" not in shown(signed_in, kind="kit", kit=kit.code)
    enrolment = EnrolmentFactory(run__kit_type=kit_type, student=StudentFactory(name="王小明"))
    loan = assigned_loan(kit, enrolment)
    page = shown(signed_in, kind="address", loan=loan.pk)
    assert "Look before printing" in page and "<li>王小明</li>" in page
    assert "fonts-noto-cjk" in page and "noto-cjk-sans-otc" in page
    assert signed_in.get(reverse(PDF), {"kind": "address", "loan": loan.pk})["X-Borrowed"] == "1"


def test_more_kits_than_one_pdf_takes_are_said_and_the_list_is_cut(signed_in):
    kit_type = KitTypeFactory(contents=False)
    Kit.objects.bulk_create(
        [Kit(code=make_code("K", n), kit_type=kit_type) for n in range(5000, 6005)]
    )
    page = shown(signed_in, kind="kit")
    assert "only the first 1,000 are printed" in page
    assert page.count('class="checklist-row"') == 50
    assert "And 955 more" in page


def test_ticks_outside_the_first_fifty_stay_on_the_page(signed_in):
    kit_type = KitTypeFactory(contents=False)
    codes = [make_code("K", n) for n in range(5000, 5070)]
    Kit.objects.bulk_create([Kit(code=code, kit_type=kit_type) for code in codes])
    page = shown(signed_in, kind="kit", code=codes[69])
    assert f'value="{codes[69]}" checked' in page
    assert "The 1 ticked one is printed." in page


@pytest.mark.parametrize("kind", ["kit", "part", "lead", "address", "return"])
def test_the_page_takes_the_same_queries_for_few_and_many(
    signed_in, practice, django_assert_max_num_queries, kind
):
    run = CourseRunFactory()

    def more(count: int) -> None:
        for _ in range(count):
            assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))

    more(2)
    with django_assert_max_num_queries(25) as few:
        shown(signed_in, kind=kind)
    more(6)
    with django_assert_max_num_queries(len(few.captured_queries)):
        shown(signed_in, kind=kind)


def test_built_in_and_own_sheets_are_offered(signed_in):
    page = shown(signed_in)
    assert all(f'value="{name}"' in page for name in SHEETS)


def test_letter_practices_begin_on_letter_sheets(signed_in, practice):
    Practice.objects.update(paper="Letter")
    loan = packed_loan()
    assert page_sizes(printed(signed_in, kind="address", loan=loan.pk)) == [
        pytest.approx((612, 792), abs=0.1)
    ]


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost", "[::1]:8000"])
def test_without_an_address_for_phones_codes_are_bare_and_the_pages_say_so(
    signed_in, settings, host
):
    settings.ALLOWED_HOSTS = ["*"]
    Practice.objects.update_or_create(pk=1, defaults={"site_url": ""})
    loan = packed_loan()
    warning, field = "QR codes carry the bare code only", "#id_site_url"
    printing = [
        f"/labels/?kind=kit&kit={loan.kit.code}",
        loan.get_absolute_url(),
        loan.enrolment.run.get_absolute_url(),
        reverse("rentals:pack_kit", args=[loan.kit.code]),
    ]
    for address in printing:
        page = signed_in.get(address, headers={"Host": host}).content.decode()
        assert warning in page and field in page
    pdf = signed_in.get(
        reverse("rentals:loan_packing_list", args=[loan.pk]), headers={"Host": host}
    ).content
    assert loan.kit.code in codes_in(picture(pdf))
    asked = {"kind": "kit", "kit": loan.kit.code}
    labels = signed_in.get(reverse(PDF), asked, headers={"Host": host}).content
    assert codes_in(picture(labels)) == [loan.kit.code]
    Practice.objects.update(site_url="https://desk.example")
    for address in printing:
        assert warning not in signed_in.get(address, headers={"Host": host}).content.decode()


def test_a_sheet_too_small_for_addresses_is_refused_on_the_page_and_a_larger_one_named(
    signed_in, practice
):
    assigned_loan()
    for name in (PAGE, PDF):
        answer = signed_in.get(reverse(name), {"kind": "address", "sheet": TAG_SHEET.name})
        said = " ".join(answer.content.decode().split())
        assert answer["Content-Type"].startswith("text/html")
        assert "too small for an address in readable type" in said
        assert KIT_SHEET.name in said


def test_the_students_telephone_number_stands_on_the_label(signed_in, practice):
    loan = assigned_loan()
    student = loan.enrolment.student
    student.street, student.city, student.phone = "Bow Lane 1", "Rosinburg", "+49 30 5550 0137"
    student.save()
    assert "+493055500137" in squeezed(printed(signed_in, kind="address", loan=loan.pk))
