"""The list of runs is the one that Django's own widget would draw."""

from __future__ import annotations

import pytest
from django import forms
from django.http import QueryDict
from django.test.html import parse_html

from rentals.models import CourseRun
from rentals.web.run_choice import RunChoice
from tests.factories import CourseRunFactory

pytestmark = pytest.mark.django_db


class Chooser(forms.Form):
    run = RunChoice(label="Of a run", empty_label="any <run>", help_text="Of all.")


class DjangosChooser(forms.Form):
    run = forms.ModelChoiceField(
        CourseRun.objects.order_by("-starts_on", "name"),
        label="Of a run",
        required=False,
        empty_label="any <run>",
        help_text="Of all.",
    )


def drawn(form: forms.Form) -> str:
    return str(form["run"])


@pytest.mark.parametrize("chosen", [None, "", "first", "second", "no number", "99999"])
def test_it_is_drawn_as_by_django(chosen: str | None):
    runs = {
        "first": CourseRunFactory(name="Spring & <b>autumn</b>"),
        "second": CourseRunFactory(name="“Quoted” \"run\" 'two'"),
    }
    value = str(runs[chosen].pk) if chosen in runs else chosen
    data = None if value is None else QueryDict(mutable=True)
    if data is not None:
        data["run"] = value
    form, djangos = Chooser(data), DjangosChooser(data)
    assert parse_html(drawn(form)) == parse_html(drawn(djangos))
    assert drawn(form).count("<option") == 3
    assert form.errors == djangos.errors


def test_a_new_name_is_shown_at_once():
    run = CourseRunFactory(name="Spring")
    assert "Spring" in drawn(Chooser())
    CourseRun.objects.filter(pk=run.pk).update(name="Autumn")
    assert "Autumn" in drawn(Chooser()) and "Spring" not in drawn(Chooser())
