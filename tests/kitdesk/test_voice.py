"""What the framework says by itself, said in this desk's own words."""

import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import allauth
import django
import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import read_mo
from babel.messages.pofile import read_po
from django import forms
from django.core import exceptions, validators
from django.test import Client

import kitdesk
import readiness.forms
import rentals.forms
from rentals.forms.runs import RunForm
from tests.conftest import OWNER_NAME, OWNER_PASSWORD

CATALOGUE = Path(kitdesk.__file__).parent / "locale/en_GB/LC_MESSAGES"
THEIRS = (
    Path(django.__file__).parent / "conf/locale/en/LC_MESSAGES/django.po",
    Path(django.__file__).parent / "contrib/auth/locale/en/LC_MESSAGES/django.po",
    Path(allauth.__file__).parent / "locale/de/LC_MESSAGES/django.po",
)
FOREIGN_WORDS = (
    "This field",
    "Ensure ",
    "Enter a",
    "Select a valid",
    "already exists",
    "Constraint",
    "was submitted",
    "Please",
    "valid choice",
    "------",
)


def _modules() -> Iterator[str]:
    yield from ("kitdesk.forms", "kitdesk.sign_in", "rentals.web.form_page")
    for package in (rentals.forms, readiness.forms):
        names = pkgutil.iter_modules(package.__path__)
        yield from (f"{package.__name__}.{module.name}" for module in names)


def _forms() -> Iterator[type[forms.BaseForm]]:
    for name in _modules():
        module = importlib.import_module(name)
        for _, form in inspect.getmembers(module, inspect.isclass):
            if hasattr(form, "base_fields") and form.__module__ == name:
                yield form


ALL_FORMS = sorted(_forms(), key=lambda form: form.__qualname__)


def _field_sentences(field: forms.Field) -> Iterator[str]:
    yield from (str(sentence) for sentence in field.error_messages.values())
    for check in field.validators:
        sentence = getattr(check, "message", "")
        yield str(sentence if sentence != validators.BaseValidator.message else "")
    choices = getattr(field, "choices", None)
    if isinstance(field, forms.ModelChoiceField):
        yield str(field.empty_label or "")
    elif choices is not None:
        yield from (str(label) for _, label in choices)


@pytest.mark.parametrize("form", ALL_FORMS, ids=lambda form: form.__qualname__)
def test_no_form_speaks_in_the_framework_s_words(form):
    for name, field in form.base_fields.items():
        for sentence in _field_sentences(field):
            assert not any(word in sentence for word in FOREIGN_WORDS), (name, sentence)


@pytest.mark.parametrize(
    "form",
    [form for form in ALL_FORMS if issubclass(form, forms.BaseModelForm)],
    ids=lambda form: form.__qualname__,
)
def test_a_rule_of_the_database_that_a_form_can_meet_has_a_sentence(form):
    model = form._meta.model
    for rule in model._meta.constraints:
        try:
            sentence = str(rule.get_violation_error_message())
        except exceptions.FieldError:
            continue
        assert not any(word in sentence for word in FOREIGN_WORDS), rule.name


def _sentences(catalogue: Catalog) -> list[tuple[str, str]]:
    pairs = (pair for pair in catalogue if pair.id)
    return sorted((str([*pair.id]), str([*pair.string])) for pair in pairs)


def test_the_compiled_catalogue_is_that_of_the_text():
    with (CATALOGUE / "django.po").open("rb") as text:
        written = _sentences(read_po(text))
    with (CATALOGUE / "django.mo").open("rb") as compiled:
        assert _sentences(read_mo(compiled)) == written


def test_every_sentence_given_other_words_is_still_one_of_the_framework_s():
    theirs = set()
    for catalogue in THEIRS:
        with catalogue.open("rb") as text:
            theirs |= {str(message.id) for message in read_po(text)}
    with (CATALOGUE / "django.po").open("rb") as text:
        ours = {str(message.id) for message in read_po(text)}
    assert sorted(ours - theirs) == []


def test_signing_in_puts_the_cursor_in_the_first_box_and_says_so_in_our_words(owner, clean_cache):
    client = Client()
    assert client.get("/account/login/").content.decode().count("autofocus") == 1
    given = {"login": OWNER_NAME, "password": OWNER_PASSWORD, "next": "/account/password/"}
    page = client.post("/account/login/", given, follow=True).content.decode()
    assert f"You are signed in as {OWNER_NAME}." in page
    assert "The same password again" in page and "(again)" not in page
    page = client.post("/account/logout/", follow=True).content.decode()
    assert "You are signed out." in page


def test_nobody_gets_past_by_guessing_and_the_refusal_is_ours(owner, clean_cache):
    client = Client()
    for _ in range(6):
        answer = client.post("/account/login/", {"login": OWNER_NAME, "password": "wrong"})
    assert "Too many wrong tries from here." in answer.content.decode()


@pytest.mark.django_db
def test_a_negative_deposit_is_refused_beside_its_box():
    form = RunForm({"deposit": "-1"})
    assert form.errors["deposit"] == ["Give 0 or more."]
    assert not form.non_field_errors()
