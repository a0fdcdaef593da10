"""The form of a sheet of labels that the practice measured itself."""

from __future__ import annotations

from typing import Any

from django import forms

from rentals.errors import Refused
from rentals.models import LabelSheet
from rentals.paper.sheets import KIT_SHEET, SHEETS
from rentals.selectors.paper_facts.sheets import check_sheet

_NUDGES = ("nudge_right", "nudge_down")
_MOST_NUDGE_MM = 20
_MOST_ROWS_OR_COLUMNS = 60


def measures_like(name: str) -> dict[str, Any]:
    """The measures of a built-in sheet to begin with; for another name only the usual page."""
    layout = SHEETS.get(name)
    if layout is None:
        return {"page_width": KIT_SHEET.page[0], "page_height": KIT_SHEET.page[1]}
    return {
        "name": f"{layout.name}, ours",
        "page_width": layout.page[0],
        "page_height": layout.page[1],
        "columns": layout.columns,
        "rows": layout.rows,
        "label_width": layout.label[0],
        "label_height": layout.label[1],
        "pitch_across": round(layout.pitch[0], 3),
        "pitch_down": round(layout.pitch[1], 3),
        "margin_left": round(layout.margin[0], 3),
        "margin_top": round(layout.margin[1], 3),
    }


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

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, forms.DecimalField):
                field.widget.attrs["step"] = "any"
        for name in _NUDGES:
            self.fields[name].required = False

    def clean_columns(self) -> int:
        return self._few_enough("columns")

    def clean_rows(self) -> int:
        return self._few_enough("rows")

    def _few_enough(self, name: str) -> int:
        count = self.cleaned_data[name]
        if count > _MOST_ROWS_OR_COLUMNS:
            raise forms.ValidationError(f"A sheet has at most {_MOST_ROWS_OR_COLUMNS} {name}.")
        return count

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in _NUDGES:
            nudge = data.get(name) or 0
            data[name] = nudge
            if abs(nudge) > _MOST_NUDGE_MM:
                self.add_error(
                    name, "More than 20 mm is no small correction: measure the margins again."
                )
        return data

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]  # Django's own hook, not in its stubs
        if not self.errors:
            self._check_measures()

    def _check_measures(self) -> None:
        try:
            check_sheet(self.instance)
        except Refused as refusal:
            field = refusal.field if refusal.field in self.fields else None
            self.add_error(field, refusal.sentence)
