"""The form that chooses which labels go on which sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

from django import forms
from django.http import QueryDict

from rentals.models import Practice
from rentals.paper.address_labels import too_small_for_addresses
from rentals.paper.sheets import (
    KIT_SHEET,
    LETTER_PARCEL_SHEET,
    LETTER_SHEET,
    PARCEL_SHEET,
    TAG_SHEET,
    SheetLayout,
)
from rentals.row_numbers import row_number
from rentals.selectors.labels.kinds import KINDS
from rentals.selectors.labels.selection import LabelSelection
from rentals.selectors.paper_facts.sheets import layouts_at_hand
from rentals.web.run_choice import RunChoice

from .kits import CodeField

MOST_TICKED = 200
_NUDGES = ("nudge_right", "nudge_down")
_OF_ONE_KIND = ("sheet", "start", *_NUDGES, "code")


def usual_sheet(kind: str, paper: str) -> SheetLayout:
    """The sheet that a kind of label goes on where nobody says otherwise; ``paper`` is ``A4`` or
    ``Letter``.
    """
    of_parcels = KINDS[kind].of_parcels
    if paper == "Letter":
        return LETTER_PARCEL_SHEET if of_parcels else LETTER_SHEET
    if of_parcels:
        return PARCEL_SHEET
    return KIT_SHEET if kind == "kit" else TAG_SHEET


class LabelForm(forms.Form):
    """Which labels, on which sheet, from which label on."""

    kind = forms.ChoiceField(
        label="Print", choices=[(key, kind.title) for key, kind in KINDS.items()]
    )
    run = RunChoice(label="Of a run", empty_label="any run")
    kit = CodeField(
        label="Of one kit", required=False, max_length=40, help_text="Scan it or type its code."
    )
    q = forms.CharField(label="Find", required=False, max_length=100)
    sheet = forms.ChoiceField(label="Sheet of labels")
    start = forms.IntegerField(
        label="First free label",
        min_value=1,
        help_text=(
            "Counted along the rows from 1, for a sheet that is partly used. Or tap it on the"
            " drawing."
        ),
    )
    nudge_right = forms.FloatField(
        label="Move right, mm", required=False, min_value=-20, max_value=20
    )
    nudge_down = forms.FloatField(
        label="Move down, mm", required=False, min_value=-20, max_value=20
    )

    def __init__(self, data: QueryDict) -> None:
        super().__init__(data)
        self.sheets = layouts_at_hand()
        sheet: Any = self.fields["sheet"]
        sheet.choices = [(name, name) for name in self.sheets]
        for name in _NUDGES:
            self.fields[name].widget.attrs["step"] = "0.1"

    @classmethod
    def from_address(cls, query: QueryDict, kind: str = "") -> LabelForm:
        """The form as an address asks for it, gaps filled; ``kind`` goes before the address."""
        return cls(_filled(query, kind))

    @property
    def shown_kind(self) -> str:
        """The kind of label, whether or not the rest of the form is valid."""
        return str(self.data["kind"])

    @property
    def ticked_codes(self) -> list[str]:
        """The codes that were ticked, as they were sent."""
        return cast(QueryDict, self.data).getlist("code")

    @property
    def loan_number(self) -> int | None:
        """The number of the loan whose parcel is labelled; None for many parcels or a bad one."""
        return row_number(self.data.get("loan", ""))

    @property
    def is_nudged(self) -> bool:
        """Whether something was typed to move the sheet for a printer that is off."""
        return any(self[name].value() or self[name].errors for name in _NUDGES)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        sheet, start = self.sheets.get(data.get("sheet") or ""), data.get("start")
        if sheet and start and start > sheet.count:
            self.add_error("start", f"The sheet has labels 1 to {sheet.count}.")
        kind = KINDS.get(data.get("kind") or "")
        if sheet and kind and kind.of_parcels and (problem := too_small_for_addresses(sheet)):
            self.add_error("sheet", f"This cannot be printed: {problem}.")
        return data

    def sheet_chosen(self) -> SheetLayout:
        """The sheet chosen, moved by what was typed on top of its own nudge."""
        sheet = self.sheets[self.cleaned_data["sheet"]]
        right = self.cleaned_data.get("nudge_right") or 0.0
        down = self.cleaned_data.get("nudge_down") or 0.0
        return replace(sheet, nudge=(sheet.nudge[0] + right, sheet.nudge[1] + down))

    def selection(self) -> LabelSelection:
        """What is to be labelled; at most ``MOST_TICKED`` codes count."""
        data = self.cleaned_data
        ticked = tuple(dict.fromkeys(self.ticked_codes))[:MOST_TICKED]
        return LabelSelection(
            kind=data["kind"],
            kit=data["kit"],
            run=data["run"],
            loan=self.loan_number,
            search=data["q"].strip(),
            ticked=ticked,
        )


def _filled(query: QueryDict, kind: str) -> QueryDict:
    """What was asked for with the gaps filled; another kind than the page showed begins on that
    kind's own sheet.
    """
    data = query.copy()
    if kind:
        data["kind"] = kind
    if data.get("kind") not in KINDS:
        data["kind"] = "kit"
    shown_before = data.get("of", data["kind"])
    if shown_before != data["kind"]:
        for name in _OF_ONE_KIND:
            data.pop(name, None)
    if not data.get("sheet"):
        data["sheet"] = usual_sheet(str(data["kind"]), _usual_paper()).name
    data.setdefault("start", "1")
    return data


def _usual_paper() -> str:
    """Of a practice only this is asked here."""
    paper = Practice.objects.filter(pk=1).order_by().values_list("paper", flat=True).first()
    return Practice().paper if paper is None else paper
