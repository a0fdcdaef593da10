"""Forms for label sheets, and for choosing which labels go where."""

from __future__ import annotations

from dataclasses import replace

from django import forms

from rentals.actions.paper import check_sheet
from rentals.errors import Refused
from rentals.models import CourseRun, LabelSheet
from rentals.paper.sheets import (
    KIT_SHEET,
    LETTER_PARCEL_SHEET,
    LETTER_SHEET,
    PARCEL_SHEET,
    TAG_SHEET,
    SheetLayout,
)
from rentals.selectors.labels import KINDS, PARCEL_KINDS, Wanted
from rentals.selectors.paper_facts.sheets import layouts_at_hand

from .kits import CodeField

MOST_TICKED = 200
_USUAL = {
    "kit": KIT_SHEET,
    "part": TAG_SHEET,
    "lead": TAG_SHEET,
    "address": PARCEL_SHEET,
    "return": PARCEL_SHEET,
}


def usual_sheet(kind: str, paper: str) -> SheetLayout:
    """The sheet that a kind of label goes on where nobody says otherwise; ``paper`` is ``A4`` or
    ``Letter``.
    """
    if paper == "Letter":
        return LETTER_PARCEL_SHEET if kind in PARCEL_KINDS else LETTER_SHEET
    return _USUAL.get(kind, KIT_SHEET)


class LabelForm(forms.Form):
    """Which labels, on which sheet, from which label on."""

    kind = forms.ChoiceField(label="Print", choices=list(KINDS.items()))
    run = forms.ModelChoiceField(
        CourseRun.objects.order_by("-starts_on", "name"),
        label="Of a run",
        required=False,
        empty_label="any run",
    )
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

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.sheets = layouts_at_hand()
        self.fields["sheet"].choices = [(name, name) for name in self.sheets]
        for name in ("nudge_right", "nudge_down"):
            self.fields[name].widget.attrs["step"] = "0.1"

    def clean(self) -> dict[str, object]:
        data = super().clean()
        sheet, start = self.sheets.get(data.get("sheet") or ""), data.get("start")
        if sheet and start and start > sheet.count:
            self.add_error("start", f"The sheet has labels 1 to {sheet.count}.")
        return data

    def sheet_chosen(self) -> SheetLayout:
        """The sheet chosen, moved by what was typed on top of its own nudge."""
        sheet = self.sheets[self.cleaned_data["sheet"]]
        right, down = (self.cleaned_data.get(name) or 0.0 for name in ("nudge_right", "nudge_down"))
        return replace(sheet, nudge=(sheet.nudge[0] + right, sheet.nudge[1] + down))

    def wanted(self, codes: list[str], loan: int | None) -> Wanted:
        """What is to be labelled; at most ``MOST_TICKED`` codes count."""
        data = self.cleaned_data
        ticked = tuple(dict.fromkeys(codes))[:MOST_TICKED]
        return Wanted(data["kind"], data["kit"], data["run"], loan, data["q"].strip(), ticked)


class SheetForm(forms.ModelForm):
    """A sheet of labels, measured with a ruler; all in millimetres."""

    class Meta:
        model = LabelSheet
        fields = [
            "name",
            "page_width",
            "page_height",
            "columns",
            "rows",
            "label_width",
            "label_height",
            "pitch_across",
            "pitch_down",
            "margin_left",
            "margin_top",
            "nudge_right",
            "nudge_down",
        ]
        labels = {
            "page_width": "Page width, mm",
            "page_height": "Page height, mm",
            "label_width": "Label width, mm",
            "label_height": "Label height, mm",
            "pitch_across": "From one column to the next, mm",
            "pitch_down": "From one row to the next, mm",
            "margin_left": "Left margin, mm",
            "margin_top": "Top margin, mm",
            "nudge_right": "Move right, mm",
            "nudge_down": "Move down, mm",
        }
        help_texts = {
            "pitch_across": "Left edge to left edge: label width and gap together.",
            "pitch_down": "Top edge to top edge: label height and gap together.",
            "margin_left": "From the edge of the page to the first label.",
            "nudge_right": (
                "For a printer that is off, as the calibration page shows; minus moves left."
            ),
            "nudge_down": "Minus moves up.",
        }

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, forms.DecimalField):
                field.widget.attrs["step"] = "any"
        for name in ("nudge_right", "nudge_down"):
            self.fields[name].required = False

    def clean_columns(self) -> int:
        return self._at_most("columns")

    def clean_rows(self) -> int:
        return self._at_most("rows")

    def _at_most(self, name: str, most: int = 60) -> int:
        count = self.cleaned_data[name]
        if count > most:
            raise forms.ValidationError(f"A sheet has at most {most} {name}.")
        return count

    def clean(self) -> dict[str, object]:
        data = super().clean()
        for name in ("nudge_right", "nudge_down"):
            nudge = data.get(name)
            data[name] = nudge or 0
            if nudge is not None and abs(nudge) > 20:
                self.add_error(
                    name, "More than 20 mm is no small correction: measure the margins again."
                )
        return data

    def _post_clean(self) -> None:
        super()._post_clean()
        if not self.errors:
            try:
                check_sheet(self.instance)
            except Refused as refusal:
                self.add_error(
                    refusal.field if refusal.field in self.fields else None, refusal.sentence
                )
