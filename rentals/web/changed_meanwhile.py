"""Two people with one form open: the second is shown, field by field, what the first has saved, and
chooses. Nothing typed is lost.

A form that changes a row carries a mark of each value it was shown with. When it is sent, a value
whose mark is another by now has changed meanwhile, and the form comes back with it; sent once more,
it carries the new marks, so what it says then is what its sender wants.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.db.models import Model
from django.forms.models import model_to_dict

from rentals.dates import short_date
from rentals.errors import Refused

#: The hidden field with the marks of what was shown.
SHOWN = "as_shown"
_MARK_LENGTH, _LONGEST_VALUE = 16, 200


def is_edit(form: Any) -> bool:
    """Whether a form, or a class of them, changes something that others may change as well: a row's
    own form, or one that says so by `edits_row`.
    """
    kind = form if isinstance(form, type) else type(form)
    return issubclass(kind, forms.ModelForm) or bool(getattr(kind, "edits_row", False))


def marks_of(form: forms.BaseForm) -> str:
    """What the hidden field of a form holds: a mark of each value as it is on file now."""
    return json.dumps({name: _mark(form[name]) for name in form.fields}, separators=(",", ":"))


def note_changed_meanwhile(form: forms.BaseForm, sent: Mapping[str, str]) -> None:
    """Put beside each field of a form that was sent what somebody else has made of it since it was
    shown, unless both mean the same.
    """
    if not is_edit(form) or _is_new(form):
        return
    for name, mark in _marks_in(sent).items():
        if name not in form.fields or mark == _mark(form[name]) or _says_the_same(form, name):
            continue
        form.add_error(name, changed_since(form, name))


def changed_since(form: forms.BaseForm, name: str) -> str:
    """What is said beside a field that somebody else has changed meanwhile."""
    return (
        "Somebody has changed this since you opened the page. It now says:"
        f" {_words(form[name])} Here stands what you entered: save again to keep yours, or"
        " enter theirs."
    )


def check_still_so(form: forms.BaseForm) -> None:
    """Lock the row that a form changes, and raise Refused where it is not as it was a moment ago,
    when the form was compared with it. Call inside the transaction of the act.
    """
    if not isinstance(form, forms.ModelForm) or _is_new(form):
        return
    rows = type(form.instance)._default_manager.select_for_update(of=("self",), no_key=True)
    row = rows.filter(pk=form.instance.pk).first()
    if row is None:
        raise Refused("Somebody has removed this since you opened the page.")
    options = form._meta
    now = model_to_dict(row, options.fields, options.exclude)
    if any(form.initial.get(name) != value for name, value in now.items() if name in form.fields):
        raise Refused("Somebody has saved this at the same moment. Save again to see it.")


def _is_new(form: forms.BaseForm) -> bool:
    return isinstance(form, forms.ModelForm) and form.instance._state.adding


def _marks_in(sent: Mapping[str, str]) -> dict[str, str]:
    try:
        marks = json.loads(sent.get(SHOWN, ""))
    except (ValueError, RecursionError):
        return {}
    return marks if isinstance(marks, dict) else {}


def _on_file(field: forms.BoundField) -> Any:
    return field.field.prepare_value(field.initial)


def _mark(field: forms.BoundField) -> str:
    return hashlib.sha256(str(_on_file(field)).encode()).hexdigest()[:_MARK_LENGTH]


def _says_the_same(form: forms.BaseForm, name: str) -> bool:
    """Whether what was entered is what is on file by now."""
    return not form.fields[name].has_changed(form[name].initial, form[name].data)


def _words(field: forms.BoundField) -> str:
    """What is on file, as the page would say it."""
    value = _on_file(field)
    values = value if isinstance(value, (list, tuple, set)) else [value]
    words = ", ".join(_word(field, one) for one in values)
    return f"{words[:_LONGEST_VALUE].rstrip('.')}." if words else "nothing."


def _word(field: forms.BoundField, value: Any) -> str:
    if isinstance(value, bool):
        return "ticked" if value else "not ticked"
    if isinstance(value, date):
        return short_date(value)
    for choice, label in getattr(field.field, "choices", ()):
        if str(choice) == str(value.pk if isinstance(value, Model) else value):
            return _name_of_choice(str(label))
    return "" if value is None else str(field.field.widget.format_value(value) or "")


def _name_of_choice(label: str) -> str:
    """A choice without the sentence that explains it: "Bench" of "Bench: Takes captures."."""
    name, colon, _ = label.partition(": ")
    return name if colon and label.endswith(".") else label
