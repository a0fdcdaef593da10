"""Forms of the post room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from django import forms
from django.http import QueryDict

from rentals.models import MailWording, Message, ReminderRule
from rentals.post.phrases import PHRASES
from rentals.selectors.run_mail import Addressee

from .choices import NOT_CHOSEN, language_field, with_empty_choice_in_words


class LetterForm(forms.Form):
    """Whom a mail goes to and what it says. What is wrong with an address is said by the action, in
    full.
    """

    edits_row = True
    to_name = forms.CharField(label="Name", max_length=120, required=False)
    to_address = forms.CharField(label="E-mail address", max_length=254)
    subject = forms.CharField(label="Subject", max_length=200)
    body_text = forms.CharField(
        label="Text",
        widget=forms.Textarea(attrs={"rows": 16}),
        max_length=20_000,
        help_text=(
            "An empty line begins a new paragraph; lines that begin with a hyphen become a list."
        ),
    )


class NotSentForm(forms.Form):
    """How a mail reached the student without this desk."""

    how = forms.CharField(
        label="How",
        max_length=200,
        required=False,
        help_text="For example: from my own mail program; by phone.",
    )


class RunMailForm(forms.Form):
    """Who of a run gets a mail."""

    loans = forms.TypedMultipleChoiceField(
        label="Who gets it", coerce=int, error_messages={"required": "Tick who gets the mail."}
    )

    def __init__(self, *args: Any, rows: Sequence[Addressee], **kwargs: Any) -> None:
        loans = [row.loan.pk for row in rows if row.loan and row.is_proposed]
        kwargs.setdefault("initial", {"loans": loans})
        super().__init__(*args, **kwargs)
        choices = [(row.loan.pk, row.enrolment.student.name) for row in rows if row.loan]
        cast(forms.TypedMultipleChoiceField, self.fields["loans"]).choices = choices


class WriteForm(forms.Form):
    """Which mail to draft for a loan."""

    occasion = forms.ChoiceField(label="About", choices=Message.Occasion.choices)


class SentBackForm(forms.Form):
    """The student has posted the kit."""

    on = forms.DateField(
        label="Posted on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    tracking_number = forms.CharField(label="Tracking number", max_length=60, required=False)


class WordingForm(forms.ModelForm):
    """The practice's wording of one occasion."""

    class Meta:
        model = MailWording
        fields = ["subject", "text", "drafted_by_itself"]
        labels = {"drafted_by_itself": "Draft this mail by itself when it comes up"}
        widgets = {"text": forms.Textarea(attrs={"rows": 18})}
        help_texts = {"text": "A line whose names all stand for nothing is left out."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.occasion not in _COMES_UP:
            del self.fields["drafted_by_itself"]
        if self.instance.occasion in PHRASES:
            del self.fields["subject"]
        else:
            self.fields["subject"].required = True
        if self.instance.occasion in PHRASES:
            self.fields["text"].widget.attrs["rows"] = 5
        # A Refused from the action names its field; the text keeps its first blank lines as typed.
        text = cast(forms.CharField, self.fields["text"])
        text.strip = False


#: Occasions that come up by themselves; reminders have their rules.
_COMES_UP = ("packing_list", "on_its_way", "shortfall", "statement")


class WordingLanguageForm(forms.Form):
    """In which language a wording is to be written."""

    language = language_field("Write it in", NOT_CHOSEN)


class RuleForm(forms.ModelForm):
    """When students are reminded."""

    class Meta:
        model = ReminderRule
        formfield_callback = with_empty_choice_in_words
        fields = ["days", "moment", "working_days", "automatic", "active"]
        labels = {
            "days": "Days",
            "moment": "Counted",
            "working_days": "Count working days only",
            "automatic": "Send it without anybody reading it first",
            "active": "In use",
        }
        help_texts = {
            "working_days": (
                "Weekends and public holidays of the practice's country are left out of the count."
            ),
            "automatic": "Otherwise it waits among the drafts.",
        }

    def clean_days(self) -> int:
        days = self.cleaned_data["days"]
        if not 0 <= days <= 365:
            raise forms.ValidationError("Give a number of days from 0 to 365.")
        return days


class CalendarLinkForm(forms.Form):
    """For whom a private calendar address is."""

    name = forms.CharField(label="For whom or which calendar", max_length=60)


class ChosenDraftsForm(forms.Form):
    """Stands for the drafts whose names were shown: others that came since do not go along."""

    shown = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: QueryDict | None, *, fingerprint: str, **kwargs: Any) -> None:
        if data is not None:
            data = data.copy()
            data["shown"] = fingerprint
        super().__init__(data, **{**kwargs, "initial": {"shown": fingerprint}})
