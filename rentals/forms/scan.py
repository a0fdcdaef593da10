"""The photo of a label, sent in place of a scan."""

from __future__ import annotations

from django import forms

from rentals.photos import UnfitPhoto
from rentals.photos_apart import codes_in


class LabelPhotoForm(forms.Form):
    """A photo with at least one code in it."""

    photo = forms.FileField(
        label="Photo of a label",
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )

    def clean(self) -> dict[str, object]:
        """The texts of the codes, as `codes`."""
        data = super().clean() or {}
        if photo := data.get("photo"):
            try:
                data["codes"] = codes_in(photo)
            except UnfitPhoto as unfit:
                self.add_error("photo", str(unfit))
        return data
