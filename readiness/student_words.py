"""What a capture says, in the words of the student who sent it: no number, nothing technical, and
always what ten seconds cannot tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.signal.bench_tests.findings import NOTE
from readiness.signal.statistics.decision import NOT_FIT

Words = str | Promise

_OPEN: Words = gettext_lazy(
    "One lead does not reach the skin, or it is broken inside. Press both electrodes and all snaps"
    " on firmly and send the recording again; if it stays like this, it is the lead."
)
_SILENT: Words = gettext_lazy(
    "The amplifier gives less than a working one can give, even at rest. Check that it is switched"
    " on and that its cells are full. If it stays like this, the kit is at fault."
)
_WEAK: Words = gettext_lazy(
    "Your fists hardly show. Place the electrodes over the thick part of each forearm, clench hard"
    " for the last five seconds, and send the recording again."
)
_BROKEN: Words = gettext_lazy(
    "The amplifier itself does not measure as it should. Nothing that you can do mends that."
)
_RESTLESS: Words = gettext_lazy(
    "The trace is restless where it should be quiet. Take new electrodes, go to another place, and"
    " send the recording again."
)
_HUM: Words = gettext_lazy(
    "There is mains hum in the trace. Run the laptop on its battery, go to another place, and send"
    " the recording again."
)
_OTHERWISE: Words = gettext_lazy(
    "The recording was not made as described: five seconds with both arms resting, then five"
    " seconds with both fists clenched."
)
_NOT_PLAIN: Words = gettext_lazy(
    "The file does not hold the plain trace as the kit measured it. Save it without any filter or"
    " smoothing, and send it again."
)
_CELLS: Words = gettext_lazy("The cells are weak. Charge them fully, or put in fresh ones.")

SENTENCES: dict[str, Words | None] = {
    "open_lead": _OPEN,
    "intermittent_lead": _OPEN,
    "saturated": _OPEN,
    "dead_channel": _SILENT,
    "leads_shorted": _WEAK,
    "lead_unproven": _WEAK,
    "stuck_bits": _BROKEN,
    "clipped": _BROKEN,
    "excess_noise": _RESTLESS,
    "low_frequency_noise": _RESTLESS,
    "burst_noise": _RESTLESS,
    "bench_interference": _HUM,
    "not_on_bar": _OTHERWISE,
    "worn_not_shorted": _OTHERWISE,
    "moved_too_early": _OTHERWISE,
    "no_movement": _OTHERWISE,
    "wrong_order": _OTHERWISE,
    "wrong_post": _OTHERWISE,
    "wrong_scale": _NOT_PLAIN,
    "not_raw": _NOT_PLAIN,
    "repeated_samples": _NOT_PLAIN,
    "missing_samples": _NOT_PLAIN,
    "time_base": _NOT_PLAIN,
    "battery_low": _CELLS,
    "battery_sagging": _CELLS,
    # That a file says nothing of the cells is nothing that the student could mend.
    "battery_missing": None,
}
"""For each finding the sentence for a student; None where there is nothing to say."""

_UNREADABLE: Words = gettext_lazy(
    "This file cannot be read as a recording. Save ten seconds as CSV, EDF, BDF or WAV, and send"
    " that file."
)
_LONG: Words = gettext_lazy(
    "The recording is not ten seconds long. Save just ten seconds: five at rest, five with"
    " both fists clenched."
)
_BARE: Words = gettext_lazy(
    "The file does not say how it was measured. Save it together with its heading lines, or as EDF,"
    " and send it again."
)
REFUSALS: dict[str, Words] = {
    "": _UNREADABLE,
    "window": _LONG,
    "rate": _BARE,
    "unit": _BARE,
    "scale": _BARE,
    "column": _BARE,
}
"""The sentence for a file that could not be scored, by the fact that is missing."""


@dataclass(frozen=True)
class StudentAnswer:
    """What a student reads of a capture: how it stands, what is to be done, what it cannot tell."""

    heading: str
    sentences: tuple[str, ...]
    limits: str = ""


def refused_words(missing: str) -> StudentAnswer:
    """The answer to a file that could not be scored."""
    return StudentAnswer(_("The file could not be used."), (str(REFUSALS[missing]),))


def result_words(result: Mapping[str, Any]) -> StudentAnswer:
    """The answer to a scored capture, from its result as stored."""
    telling = [
        finding
        for finding in result["findings"]
        if finding["verdict"] != NOTE and SENTENCES[finding["code"]] is not None
    ]
    sentences = dict.fromkeys(str(SENTENCES[finding["code"]]) for finding in telling)
    limits = _(
        "Ten seconds on the wrists cannot tell whether the ground lead is sound, whether a lead"
        " fails now and then, or how quiet the amplifier is."
    )
    return StudentAnswer(_heading(telling), tuple(sentences), limits)


def _heading(telling: list[Mapping[str, Any]]) -> str:
    if not telling:
        return _("Both leads answer: resting and clenching show well in the trace.")
    if any(finding["verdict"] == NOT_FIT for finding in telling):
        return _("Something in the kit seems to be at fault.")
    return _("This recording does not settle it yet.")
