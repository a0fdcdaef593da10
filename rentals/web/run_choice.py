"""A course run chosen among all there ever were, which are hundreds after some years."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.utils import flatatt
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString

from rentals.models import CourseRun
from rentals.selectors.kept_answers import KeptAnswers


class _RunSelect(forms.Select):
    """The list of all runs. Drawn by a template each, hundreds of choices take longer than the rest
    of a page.
    """

    def render(
        self, name: str, value: Any, attrs: dict[str, Any] | None = None, *_: Any, **__: Any
    ) -> SafeString:
        """As the widget it stands for."""
        chosen = set(self.format_value(value))
        first = format_html(
            '<option value=""{}>{}</option>', _selected("" in chosen), self.attrs["empty_label"]
        )
        drawn = KeptAnswers().of(__name__, _drawn_options)
        options = [
            f'<option value="{number}"{_selected(number in chosen)}>{words}</option>'
            for number, words in drawn
        ]
        own = {"name": name, **self.attrs, **(attrs or {})}
        del own["empty_label"]
        inner = SafeString("\n".join([first, *options]))
        return format_html("<select{}>\n{}\n</select>", flatatt(own), inner)


def _selected(chosen: bool) -> SafeString:
    return SafeString(" selected" if chosen else "")


def _drawn_options() -> list[tuple[str, SafeString]]:
    rows = _in_order().values_list("pk", "name")
    return [(str(number), conditional_escape(name)) for number, name in rows]


def _in_order() -> Any:
    return CourseRun.objects.order_by("-starts_on", "name")


class RunChoice(forms.ModelChoiceField):
    """One of all runs or none, the newest first; `empty_label` are the words of none."""

    def __init__(self, *, label: str, empty_label: str, **options: Any) -> None:
        super().__init__(
            _in_order(),
            label=label,
            required=False,
            empty_label=empty_label,
            widget=_RunSelect({"empty_label": empty_label}),
            **options,
        )
