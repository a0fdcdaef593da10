"""Forms of course runs and of assigning kits."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.db.models import Q

from rentals.codes import NotACode, parse_code
from rentals.lifecycle import Verb, may
from rentals.models import CourseRun, Enrolment, Kit, KitType
from rentals.planning.free_kits import KitProposal
from rentals.selectors.plan_days import day_rules
from rentals.states import KitState

from .amounts import ask_at_least, show_in_currency
from .choices import with_empty_choice_in_words

#: Days that are worked out where they are left empty: from which day, and where the rule is kept.
WORKED_OUT = {
    "post_by": ("starts_on", "post_by_rule"),
    "return_by": ("ends_on", "return_by_rule"),
}


#: How much a student practises; left out, it stays as it is.
PRACTISING = ("sessions_per_week", "minutes_per_session")


class DayInput(forms.DateInput):
    """The browser's own calendar; it wants days written the ISO way whatever the language."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class RunForm(forms.ModelForm):
    """A course run with its four days."""

    class Meta:
        model = CourseRun
        formfield_callback = with_empty_choice_in_words
        fields = (
            "name",
            "kit_type",
            "starts_on",
            "ends_on",
            "post_by",
            "return_by",
            "deposit",
            "sessions_per_week",
            "minutes_per_session",
            "note",
        )
        labels = {
            "starts_on": "Starts on",
            "ends_on": "Ends on",
            "post_by": "Parcels posted by",
            "return_by": "Kits due back by",
            "kit_type": "Kit type",
            "sessions_per_week": "Sessions a week",
            "minutes_per_session": "Minutes a session",
        }
        help_texts = {
            "post_by": (
                "The last day a parcel can leave and still arrive before the course starts. Left"
                " empty, it is worked out for each student's country."
            ),
            "return_by": (
                "Students are asked to post the kit so that it is back on this day. Left empty, it"
                " is worked out too."
            ),
            "deposit": "What each student leaves as a deposit; 0 for none.",
        }
        error_messages = {"name": {"unique": "There is a run with this name already."}}
        widgets = {name: DayInput() for name in ("starts_on", "ends_on", "post_by", "return_by")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ask_at_least(self, deposit=0)
        if self.instance.pk:
            show_in_currency(self, "deposit")
        own_kit_type = self.instance.kit_type_id
        kit_type = cast("forms.ModelChoiceField[KitType]", self.fields["kit_type"])
        kit_type.queryset = KitType.objects.filter(Q(active=True) | Q(pk=own_kit_type))
        self.fields["note"].widget.attrs["rows"] = 3
        for name in (*WORKED_OUT, *PRACTISING):
            self.fields[name].required = False
        # Where there is only one, nobody need choose it.
        types = list(kit_type.queryset[:2]) if not own_kit_type else []
        if len(types) == 1:
            self.initial["kit_type"] = types[0].pk

    def clean(self) -> dict[str, Any]:
        """Days in their order, each fault beside the later day."""
        answers = super().clean() or {}
        for name in PRACTISING:
            if answers.get(name) is None and name not in self.errors:
                answers[name] = getattr(self.instance, name)
        starts, ends = answers.get("starts_on"), answers.get("ends_on")
        self._work_out_days(answers)
        post_by, return_by = answers.get("post_by"), answers.get("return_by")
        if starts and ends and ends < starts:
            self.add_error("ends_on", "The run ends before it starts. Check both days.")
        if post_by and return_by and return_by < post_by:
            self.add_error(
                "return_by", "Kits would be due back before they are posted. Check both days."
            )
        if post_by and ends and post_by > ends:
            self.add_error("post_by", "Parcels would be posted after the run has ended.")
        if return_by and starts and return_by < starts:
            self.add_error("return_by", "Kits would be due back before the run starts.")
        return answers

    def _work_out_days(self, answers: dict[str, Any]) -> None:
        """Give a day to each field that was left empty, or that still holds a day worked out
        before; a typed day stays, and has no rule.
        """
        open_days = [name for name in WORKED_OUT if self._is_worked_out(name, answers)]
        rules = day_rules() if open_days else None
        for name, (counted_from, rule_column) in WORKED_OUT.items():
            start = answers.get(counted_from)
            if name not in open_days:
                setattr(self.instance, rule_column, "")
            elif rules and start:
                planned = rules.post_by(start) if name == "post_by" else rules.back_by(start)
                answers[name] = planned.day
                setattr(self.instance, rule_column, planned.rule)

    def _is_worked_out(self, name: str, answers: dict[str, Any]) -> bool:
        if name in self.errors:
            return False
        had_rule = bool(getattr(self.instance, WORKED_OUT[name][1]))
        return not answers.get(name) or (had_rule and name not in self.changed_data)


class RunSpanForm(forms.Form):
    """The first and the last day of a run, as far as they are known."""

    starts_on = forms.DateField(label="Starts on", required=False, widget=DayInput())
    ends_on = forms.DateField(label="Ends on", required=False, widget=DayInput())


class AssignForm(forms.Form):
    """A kit code for each student without a kit; empty leaves the student without one."""

    def __init__(
        self, data: Any, *, enrolments: Iterable[Enrolment], proposals: Iterable[KitProposal]
    ) -> None:
        super().__init__(data)
        self.enrolments = {f"kit_{e.pk}": e for e in enrolments}
        offered = {f"kit_{p.who}": p.kit.code if p.kit else "" for p in proposals}
        for name, enrolment in self.enrolments.items():
            self.fields[name] = forms.CharField(
                label=f"Kit for {enrolment.student.name}",
                required=False,
                max_length=40,
                initial=offered.get(name, ""),
                widget=forms.TextInput(
                    attrs={
                        "list": "free-kits",
                        "autocomplete": "off",
                        "autocapitalize": "characters",
                    }
                ),
            )

    def clean(self) -> dict[str, Any]:
        """Codes become kits; each must be free, of the run's type, and given once."""
        answers = super().clean() or {}
        codes: dict[str, str] = {}
        for name in self.enrolments:
            if typed := answers.get(name):
                try:
                    codes[name] = parse_code(typed)
                except NotACode as refusal:
                    self.add_error(name, refusal.sentence)
        kits = {
            kit.code: kit
            for kit in Kit.objects.filter(code__in=codes.values()).select_related("kit_type")
        }
        given_to: dict[str, str] = {}
        for name, code in codes.items():
            if fault := self._fault(self.enrolments[name], code, kits.get(code), given_to):
                self.add_error(name, fault)
            else:
                given_to[code] = self.enrolments[name].student.name
        self.pairs = [
            (self.enrolments[name], kits[code]) for name, code in codes.items() if code in kits
        ]
        return answers

    @staticmethod
    def _fault(enrolment: Enrolment, code: str, kit: Kit | None, given_to: dict[str, str]) -> str:
        if kit is None:
            return f"There is no kit {code}. Check the code on its label."
        if code in given_to:
            return f"Kit {code} is given to {given_to[code]} above. Choose another one."
        if not may(Verb.ASSIGNED, KitState(kit.state)):
            return (
                f"Kit {code} is {kit.get_state_display()} and cannot be assigned. Choose"
                " another one."
            )
        if kit.kit_type_id != enrolment.run.kit_type_id:
            return f"Kit {code} is a {kit.kit_type.name}; this run needs another kit type."
        return ""
