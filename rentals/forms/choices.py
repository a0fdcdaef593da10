"""What stands in a list of choices before anything is chosen."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db import models

from rentals.languages import offered_languages

NOT_CHOSEN = "choose one"
NOT_GIVEN = "none"


def with_empty_choice_in_words(column: models.Field, **kwargs: Any) -> forms.Field | None:
    """The form field of a column, its empty choice in words; for `Meta.formfield_callback`."""
    field: Any = column.formfield(**kwargs)
    words = NOT_CHOSEN if field is not None and field.required else NOT_GIVEN
    if isinstance(field, forms.ModelChoiceField):
        field.empty_label = words if field.empty_label is not None else None
    elif isinstance(field, forms.TypedChoiceField) and column.choices and not _is_lazy(field):
        chooser: Any = field
        chooser.choices = [(value, label if value else words) for value, label in chooser.choices]
    return field


def language_field(
    label: str, empty: str = "", help_text: str = "", *, required: bool = True
) -> forms.ChoiceField:
    """A choice among all languages; `empty` are the words of the choice of none, where there is
    one.
    """
    return forms.ChoiceField(
        label=label,
        help_text=help_text,
        required=required and not empty,
        choices=lambda: [*([("", empty)] if empty else []), *offered_languages()],
    )


def _is_lazy(field: forms.TypedChoiceField) -> bool:
    """Whether the choices are looked up only when they are shown, as countries are."""
    return type(field) is not forms.TypedChoiceField
