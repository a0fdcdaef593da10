"""Forms for counted stock."""

from __future__ import annotations

from typing import Any, cast

from django import forms

from rentals.models import ElectrodeBatch, StockItem

from .choices import with_empty_choice_in_words


def day_field(**kwargs: Any) -> forms.DateField:
    """A date with the browser's own date picker."""
    return forms.DateField(widget=forms.DateInput(attrs={"type": "date"}), **kwargs)


class StockItemForm(forms.ModelForm):
    """What is counted, where it lies and when to reorder."""

    class Meta:
        model = StockItem
        formfield_callback = with_empty_choice_in_words
        fields = ["name", "kind", "by_batch", "unit", "reorder_point", "shelf"]
        labels = {
            "by_batch": "Kept in batches with an expiry date (electrodes, swabs)",
            "reorder_point": "Reorder at",
        }


class RestockForm(forms.Form):
    """Pieces that came in."""

    quantity = forms.IntegerField(label="Pieces that came in", min_value=1, max_value=100_000)
    batch_number = forms.CharField(label="Batch number", max_length=40, required=False)
    expires_on = day_field(label="Expires on", required=False)

    def __init__(self, *args: Any, item: StockItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not item.by_batch:
            del self.fields["batch_number"], self.fields["expires_on"]
        else:
            self.fields["batch_number"].required = True


class BatchField(forms.ModelChoiceField):
    """A batch, named by its number and what the file says is there."""

    def label_from_instance(self, obj: ElectrodeBatch) -> str:
        return f"{obj.batch_number}, {obj.on_hand} on file"


class CountForm(forms.Form):
    """What a count found."""

    batch = BatchField(ElectrodeBatch.objects.none(), label="Batch", empty_label=None)
    counted = forms.IntegerField(label="Pieces counted", min_value=0, max_value=1_000_000)
    reason = forms.CharField(label="Why it differs", max_length=200, required=False)

    def __init__(self, *args: Any, item: StockItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if item.by_batch:
            batch = cast(BatchField, self.fields["batch"])
            batch.queryset = item.batches.all()
        else:
            del self.fields["batch"]
