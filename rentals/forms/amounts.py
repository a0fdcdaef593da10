"""Amounts of money in fields: stored with three decimals, shown with those of the practice's
currency.
"""

from __future__ import annotations

from django import forms

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
