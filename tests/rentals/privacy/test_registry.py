"""Every column of every table is decided on."""

import pytest
from django.apps import apps
from django.db import models

from rentals.privacy.registry import TABLES, undecided

pytestmark = pytest.mark.any_database

TEXTS = (
    models.CharField,
    models.TextField,
    models.JSONField,
    models.BinaryField,
    models.FileField,
    models.UUIDField,
    models.GenericIPAddressField,
)


def columns(model) -> set[str]:
    """Columns that can hold words: not those of a closed list of choices."""
    fields = model._meta.local_concrete_fields
    found = [field for field in fields if isinstance(field, TEXTS)]
    return {
        field.name for field in found if not (field.choices and not hasattr(field, "countries"))
    }


def test_no_column_of_text_is_in_no_list():
    lacking = {
        model._meta.label: sorted(names)
        for model in apps.get_models()
        if (names := undecided(model._meta.label, columns(model)))
    }
    assert not lacking, f"say in rentals/privacy what an erasure does to them: {lacking}"


def test_a_column_in_no_list_is_found():
    assert undecided("rentals.Student", {"name", "nickname"}) == {"nickname"}


def test_the_list_names_nothing_that_is_not_there():
    for table in TABLES:
        model = apps.get_model(table.model)
        for name in table.columns:
            model._meta.get_field(name)
        if table.of:
            model._default_manager.filter(**{table.of: 1}).query  # noqa: B018
        if table.bytes_of:
            model._default_manager.filter(**{table.bytes_of: 1}).query  # noqa: B018


def test_what_belongs_to_a_student_says_why_it_is_kept():
    for table in TABLES:
        assert not table.of or (table.what and table.why), table.model
