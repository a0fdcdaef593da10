"""Many sheets of labels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from django.http import QueryDict

from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandFile, ErrandResult, errand_work
from rentals.counts import counted
from rentals.errors import Refused
from rentals.forms.labels import LabelForm
from rentals.models import Errand, ErrandKind
from rentals.paper.label_sheets import DRAW
from rentals.selectors.labels.printing import labels_to_print
from rentals.selectors.paper_facts.practice import house_fonts, practice_facts


@errand_work(ErrandKind.LABELS)
def sheets_of_labels(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """One PDF. Its facts: ``kind`` and ``query`` as in the address of the page that asks, and
    ``site_url``.
    """
    asked = errand.facts
    form = LabelForm.from_address(QueryDict(asked["query"]), asked["kind"])
    practice = replace(practice_facts(), site_url=asked["site_url"])
    facts = labels_to_print(form.selection(), practice) if form.is_valid() else []
    if not facts:
        raise Refused("There is no such label to print any more. Choose others.")
    progress.begin(len(facts), "labels drawn")
    draw, start = DRAW[form.shown_kind], form.cleaned_data["start"]
    labels = _each(facts, progress)
    try:
        printed = draw(labels, form.sheet_chosen(), start=start, fonts=house_fonts())
    except ValueError as problem:
        raise Refused(f"This cannot be printed: {problem}.") from problem
    outcome = f"{counted(len(facts), 'label', 'labels')} on one file."
    if printed.unprintable:
        texts = counted(len(printed.unprintable), "text", "texts")
        outcome += f" No font at hand can draw {texts}: they are left out."
    file = ErrandFile(f"{form.shown_kind}-labels.pdf", "application/pdf", [printed.pdf])
    return ErrandResult(outcome, file=file)


def _each(labels: Sequence[Any], progress: ErrandProgress) -> Iterator[Any]:
    for label in labels:
        yield label
        progress.step()
