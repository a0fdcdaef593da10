"""Forms for what is sent to a student in place of something faulty."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from rentals.planning.free_kits import FreeKit

from .plan import OtherKitForm
from .stock import day_field


class ReplaceKitForm(OtherKitForm):
    """Which kit goes instead, what is wrong with the first, and when that is due back."""

    fault = forms.CharField(
        label="What is wrong with the faulty kit",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    due_on = day_field(label="The faulty kit is due back on")

    def __init__(self, data: Any, *, free: Iterable[FreeKit], initial: Any = None) -> None:
        super().__init__(data, free=free)
        self.initial.update(initial or {})
