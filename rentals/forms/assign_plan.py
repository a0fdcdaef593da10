"""Accepting a plan of kits."""

from __future__ import annotations

from typing import Any

from django import forms

from rentals.row_numbers import row_number


class AcceptPlanForm(forms.Form):
    """Which rows of a plan are accepted: all, or those ticked; and what plan was shown."""

    digest = forms.CharField(max_length=64, widget=forms.HiddenInput)

    def __init__(self, data: Any, *, changing: dict[int, str], digest: str) -> None:
        super().__init__(data, initial={"digest": digest})
        self._changing = changing

    @property
    def ticked(self) -> list[int]:
        """The students whose rows are ticked."""
        sent = self.data.getlist("who") if hasattr(self.data, "getlist") else []
        return [number for text in sent if (number := row_number(text)) is not None]

    @property
    def shown(self) -> dict[int, str]:
        """The kit that each row showed when it was sent."""
        names = ((name, name.removeprefix("kit_")) for name in self.data if "kit_" in name)
        numbers = ((name, row_number(text)) for name, text in names)
        return {who: str(self.data[name]) for name, who in numbers if who is not None}

    def accepted(self) -> dict[int, str]:
        """The kits accepted, by student."""
        if "all" in self.data:
            return self._changing
        return {who: self._changing[who] for who in self.ticked if who in self._changing}
