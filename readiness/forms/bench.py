"""Forms of the bench."""

from __future__ import annotations

from typing import Any

from django import forms

from readiness.judgement.sentences import for_people
from readiness.models import BenchPlan, Capture
from readiness.signal.catalogue import CATALOGUE
from readiness.signal.limits import Limits
from readiness.signal.readers.limits import LOWEST_RATE_HZ, MAX_RATE_HZ
from rentals.codes import NotACode, grouped, parse_code
from rentals.errors import Refused
from rentals.models import Kit, Part
from rentals.selectors.part_scan import code_meant

UNITS = [
    ("uV", "µV, microvolts"),
    ("mV", "mV, millivolts"),
    ("V", "V, volts"),
    ("nV", "nV, nanovolts"),
]
VOLTS_MOST = 15
USUAL_NOISE_UV = 2.0
NARROWER_HZ = (20.0, 400.0)
"""The band of a capture at 1000 samples a second, as an example."""


class KitField(forms.CharField):
    """A kit by its code, typed or scanned; gives the kit."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 200)
        super().__init__(**kwargs)
        self.widget.attrs |= {
            "autocapitalize": "characters",
            "spellcheck": "false",
            "autocomplete": "off",
        }

    def clean(self, value: Any) -> Kit | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            code = parse_code(text)
        except NotACode as wrong:
            raise forms.ValidationError(wrong.sentence, code="not_a_code") from wrong
        kit = Kit.objects.select_related("kit_type").filter(code=code).first()
        if kit is None:
            raise forms.ValidationError(
                "There is no kit %(code)s at this desk.",
                code="no_kit",
                params={"code": grouped(code)},
            )
        return kit


class KitAtHandField(KitField):
    """A kit by its code, or by the code or the printed serial number of a part that is in it."""

    def clean(self, value: Any) -> Kit | None:
        text = forms.CharField.clean(self, value)
        try:
            code = code_meant(text)
        except Refused as refusal:
            raise forms.ValidationError(refusal.sentence, code="not_a_code") from refusal
        part = Part.objects.select_related("kit").filter(code=code).first()
        if part is None:
            return super().clean(code)
        if part.kit is None:
            raise forms.ValidationError(
                "%(part)s is in no kit. Scan the label of the kit.",
                code="in_no_kit",
                params={"part": f"{part.get_kind_display()} {grouped(part.code)}"},
            )
        return part.kit


class FindKitForm(forms.Form):
    """The scan box of the bench."""

    kit = KitAtHandField(
        label="The kit at hand",
        help_text="Scan its label, or a serial number printed on a part of it.",
        widget=forms.TextInput(attrs={"data-autofocus": True, "enterkeyhint": "go"}),
    )


class UploadForm(forms.Form):
    """A drop of files. The files themselves go to the action one by one, so only the refusal of all
    lands here.
    """

    files = forms.FileField(label="Capture files", required=False)  # type: ignore[assignment]
    kit = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)


def _fact_fields() -> dict[str, forms.Field]:
    """One field for each fact that may be missing, by the name the readers give it."""
    tests = [(name, kind.title) for name, kind in CATALOGUE.items()]
    return {
        "kit": KitField(label="Kit", help_text="Scan its label or type its code."),
        "test": forms.ChoiceField(label="Test", choices=tests, widget=forms.RadioSelect),
        "rate": forms.FloatField(
            label="Sampling rate, Hz",
            min_value=LOWEST_RATE_HZ,
            max_value=MAX_RATE_HZ,
            help_text="Samples per second, as set in the recording program.",
        ),
        "unit": forms.ChoiceField(
            label="Unit of the EMG column", choices=UNITS, widget=forms.RadioSelect
        ),
        "window": forms.FloatField(
            label="Start of the ten seconds, s",
            min_value=0,
            max_value=3600,
            help_text="The file is longer than one capture: from which second on does it count?",
        ),
    }


FACT_NAMES = {
    "kit": "kit",
    "test": "test",
    "rate": "rate_hz",
    "unit": "unit",
    "window": "window_start_s",
}


class AnswerForm(forms.Form):
    """Exactly the facts a capture lacks."""

    def __init__(self, capture: Capture, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, prefix=f"c{capture.pk}", **kwargs)
        self.capture = capture
        fields = _fact_fields()
        self.fields.update(
            {name: fields[name] for name in capture.missing.split() if name in fields}
        )

    def facts(self) -> dict[str, Any]:
        """The answers by the names the action knows."""
        return {FACT_NAMES[name]: value for name, value in self.cleaned_data.items()}


class VoltsForm(forms.Form):
    """A reading of the battery under load."""

    volts = forms.FloatField(
        label="Battery under load, V",
        min_value=0.1,
        max_value=VOLTS_MOST,
        help_text="Meter at the pack while the amplifier runs, two decimals.",
    )


class AsideForm(forms.Form):
    """Why a capture does not count."""

    reason = forms.CharField(
        label="Why it does not count", max_length=300, widget=forms.Textarea(attrs={"rows": 2})
    )


class MovedForm(forms.Form):
    """The operator's word that the leads were bent, where the amplifier cannot show it."""

    moved = forms.BooleanField(
        label="I moved each lead through its window",
        error_messages={"required": "Tick it if you did; else record flex again."},
    )


class LimitReasonForm(forms.Form):
    """Why the owner takes a proposed limit."""

    reason = forms.CharField(
        label="Why this limit", max_length=300, widget=forms.Textarea(attrs={"rows": 2})
    )


class PlanForm(forms.ModelForm):
    """The test plan of a kit type: a box for each bench test, then the limits.

    The cleaned data have ``tests``, the names of the chosen tests in bench order.
    """

    reason = forms.CharField(
        label="Why you change the plan",
        max_length=300,
        required=False,
        help_text="A sentence, whenever something above changes. It stays in the history.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    class Meta:
        model = BenchPlan
        fields = (
            "noise_limit_uv",
            "noise_reason",
            "battery_limit_v",
            "battery_reason",
            "high_pass_hz",
            "low_pass_hz",
            "notch",
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        noise_limit: Any = self.fields["noise_limit_uv"]
        noise_limit.min_value = 0.1
        narrower = for_people(Limits(self.instance.noise_limit_uv).noise_in_words(*NARROWER_HZ))
        noise_limit.help_text += (
            f" Where the sampling rate narrows the band, the limit keeps its density: {narrower}."
        )
        required = self.instance.required
        for name, kind in CATALOGUE.items():
            self.fields[name] = forms.BooleanField(
                label=kind.title, help_text=kind.asks, required=False, initial=name in required
            )
        self.order_fields(CATALOGUE)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        data["tests"] = [name for name in CATALOGUE if data.pop(name, False)]
        if not data["tests"]:
            first = next(iter(CATALOGUE))
            self.add_error(
                first, forms.ValidationError("Choose at least one test.", code="no_test")
            )
        reasons = {
            "noise_limit_uv": ("noise_reason", USUAL_NOISE_UV),
            "battery_limit_v": ("battery_reason", None),
        }
        for limit, (reason, usual) in reasons.items():
            if limit in data and data[limit] != usual and not data.get(reason):
                self.add_error(
                    reason, forms.ValidationError("Write why this limit holds.", code="no_reason")
                )
        return data
