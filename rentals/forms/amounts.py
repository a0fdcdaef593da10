"""Amounts of money in fields: stored with three decimals, shown with those of the practice's
currency.
"""

from __future__ import annotations

from django import forms
from django.core.validators import MinValueValidator

from rentals.models import Practice
from rentals.planning.money import round_money


def show_in_currency(form: forms.ModelForm, *names: str) -> None:
    """Let the named fields show ``240.00`` and not ``240.000``; an amount with finer parts is shown
    as it is stored.
    """
    currency = Practice.current().currency
    for name in names:
        stored = form.initial.get(name)
        if stored is not None and round_money(stored, currency) == stored:
            form.initial[name] = round_money(stored, currency)


def ask_at_least(form: forms.ModelForm, **least: int) -> None:
    """Let each named field refuse beside itself what lies below its number."""
    for name, number in least.items():
        field = form.fields[name]
        field.validators = [
            check for check in field.validators if not isinstance(check, MinValueValidator)
        ]
        field.validators.append(MinValueValidator(number))
        field.widget.attrs["min"] = number
