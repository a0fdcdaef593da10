"""Parts of pages that are kept as text: each is drawn for what it shows, and no other page's."""

import pytest
from django.template import Context, Template
from django.test import RequestFactory
from django.urls import reverse

from rentals.paper.sheet_drawing import drawn_sheet
from rentals.paper.sheets import KIT_SHEET
from rentals.templatetags import kept_parts
from rentals.web.ticked import TICKED
from tests.factories import packed_loan

BOX = '{% load kept_parts %}{% tick_code "chosen-kits" "K0014E" %}'


def _box(address: str) -> str:
    return Template(BOX).render(Context({"request": RequestFactory().get(address)}))


@pytest.mark.any_database
def test_a_box_is_ticked_only_where_the_address_says_so():
    plain, ticked = _box("/kits/"), _box("/kits/?ticked=K0014E")
    assert "checked" not in plain and "checked" in ticked
    assert _box("/kits/") == plain and 'value="K0014E"' in plain


@pytest.mark.any_database
def test_the_navigation_marks_the_page_that_is_open():
    screens = [("Today", "/"), ("Kits", "/kits/")]
    for here in ("/", "/kits/", "/"):
        nav = tuple((label, url, url == here) for label, url in screens)
        drawn = kept_parts.navigation(nav)
        assert drawn.count('aria-current="page"') == 1
        assert f'href="{here}" aria-current="page"' in drawn
    assert kept_parts.navigation(()).strip() == ""


@pytest.mark.django_db
def test_a_list_of_kits_keeps_no_name(signed_in):
    student = packed_loan().enrolment.student
    for name in ("Ann <b>Reed</b>", "Zoe Holm"):
        type(student).objects.filter(pk=student.pk).update(name=name)
        page = signed_in.get(reverse("rentals:kits")).content.decode()
        assert ("Zoe Holm" in page) == (name == "Zoe Holm")
        assert ("Ann &lt;b&gt;Reed&lt;/b&gt;" in page) != (name == "Zoe Holm")


@pytest.mark.any_database
@pytest.mark.parametrize("ticked", ["", "7"])
@pytest.mark.parametrize("person", ["Viola Tester", '<b>Viola</b> & "Ann"', "place-of-the-value"])
def test_a_person_is_ticked_in_the_box_that_all_lists_have(rf, ticked: str, person: str):
    facts = {"request": rf.get("/", {TICKED: ticked}), "person": person}
    drawn = "{% load kept_parts %}{% tick_person 'a-form' 'enrolment' 7 person %}"
    whole = (
        "{% include '_parts/_tick.html' with form='a-form' name='enrolment' value=7 what=person %}"
    )
    for _ in range(2):
        box = Template(drawn).render(Context(facts))
        assert " ".join(box.split()) == " ".join(Template(whole).render(Context(facts)).split())
        assert ("checked" in box) == (ticked == "7")


@pytest.mark.any_database
def test_the_options_of_a_choice_are_those_of_now_and_one_is_chosen():
    for chosen, label in (("", "<b>Autumn</b>"), ("7", "<b>Autumn</b>"), ("7", "Spring")):
        choices = [("", "all", chosen == ""), ("7", label, chosen == "7")]
        drawn = " ".join(kept_parts.options(choices).split())
        assert drawn.count("selected") == 1
        assert f'value="{chosen}" selected>' in drawn
        assert ("Spring</option>" in drawn) == (label == "Spring")
        assert "<b>" not in drawn


@pytest.mark.any_database
def test_a_sheet_is_drawn_as_it_begins_and_ends():
    sheet = KIT_SHEET
    for start, count in ((1, 99), (4, 2), (1, 99)):
        slots = drawn_sheet(sheet, start, count)
        drawn = kept_parts.label_slots(slots, sheet.label, 4.5)
        for use in ("used", "print", "free"):
            assert drawn.count(f"label-{use}") == sum(slot.use == use for slot in slots)
        assert [drawn.count(f">{slot.number}</text>") for slot in slots] == [1] * len(slots)
        assert f'width="{sheet.label[0]}"' in drawn
