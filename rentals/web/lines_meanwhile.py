"""A page of many lines that two people have open: what the other one has kept of a line stays, and
only where both have changed the same the second is asked.

Each line says in plain values what it was shown with, for here it must be told apart whether
somebody has touched it at all.
"""

from __future__ import annotations

import json
from typing import Any, cast

from django import forms
from django.http import QueryDict

from .changed_meanwhile import SHOWN, changed_since


def values_shown(form: forms.BaseForm) -> str:
    """What the hidden field of a line holds: the values on file."""
    return json.dumps(_on_file(form), separators=(",", ":"))


def mind_others(form: forms.BaseForm) -> None:
    """Put into a line that was sent what somebody else has kept of it meanwhile, wherever it was
    left as it was shown; where both have changed a field, say so beside it.
    """
    shown, on_file = _shown(form), _on_file(form)
    if not form.is_valid():
        return
    for name, now in on_file.items():
        if shown.get(name, now) == now:
            continue
        typed = form.cleaned_data[name]
        # Of choices of which none was taken a browser sends nothing.
        untaken = typed == "" and form.add_prefix(name) not in form.data
        if untaken or typed == shown[name]:
            form.cleaned_data[name] = now
            _show(form, name, now)
        elif typed != now:
            form.add_error(name, changed_since(form, name))


def _show(form: forms.BaseForm, name: str, value: Any) -> None:
    """Where the line comes back for another field, this one stands there as the other left it."""
    sent = cast(QueryDict, form.data).copy()
    sent.pop(form.add_prefix(name), None)
    if value not in (None, False):
        sent[form.add_prefix(name)] = "on" if value is True else str(value)
    form.data = sent


def _on_file(form: forms.BaseForm) -> dict[str, Any]:
    return {name: value for name, value in form.initial.items() if name in form.fields}


def _shown(form: forms.BaseForm) -> dict[str, Any]:
    try:
        shown = json.loads(form.data.get(form.add_prefix(SHOWN), ""))
    except (ValueError, RecursionError):
        return {}
    return shown if isinstance(shown, dict) else {}
