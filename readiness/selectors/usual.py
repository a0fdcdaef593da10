"""What is usual of a kit, from its own good captures, and what that is used for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median
from typing import Any

from readiness.judgement.own_limit import GOOD_CAPTURES, GOOD_CAPTURES_LEAST
from readiness.models import Verdict
from readiness.selectors.limits import fitted, limits_for
from readiness.signal.bench_tests.view import USUAL_SHARE
from readiness.signal.catalogue import LIFT, NOISE_TEST
from readiness.states import VerdictWord
from rentals.models import Kit, PartKind

LATEST = 2 * GOOD_CAPTURES


def usual_lines(kit: Kit) -> list[str]:
    """Sentences on usual noise, hum and reactions; empty while there are fewer than three good
    captures of a kind.

    What is usual never passes a kit: it only narrows what is believed, or is there to compare.
    """
    results = _good_results(kit)
    lines = (_noise_line(kit), _hum_line(results), _lift_line(results))
    return [line for line in lines if line]


def _good_results(kit: Kit) -> list[tuple[str, dict[str, Any]]]:
    """Test and result of the newest good captures with the parts of today."""
    parts = fitted(kit)
    good = Verdict.objects.filter(
        current=True,
        verdict=VerdictWord.FIT,
        capture__kit=kit,
        capture__set_aside="",
        capture__test__in=(NOISE_TEST, LIFT.name),
        capture__amplifier=parts.get(PartKind.AMPLIFIER),
        capture__lead_set=parts.get(PartKind.LEAD_SET),
    )
    newest = good.order_by("-capture__taken", "-capture_id")
    return list(newest.values_list("capture__test", "result")[:LATEST])


def _noise_line(kit: Kit) -> str:
    usual = limits_for(kit).usual_noise_uv
    if not usual:
        return ""
    return (
        f"Its amplifier's usual noise is {usual:.2f} µV. Less than {USUAL_SHARE * usual:.2f} µV is"
        " not believed: that is a channel which does not work, however quiet it looks."
    )


def _hum_line(results: Iterable[tuple[str, dict[str, Any]]]) -> str:
    hums = _values((result for test, result in results if test == NOISE_TEST), "mains_rms")
    if len(hums) < GOOD_CAPTURES_LEAST:
        return ""
    return (
        f"The bar usually hums with {median(hums):.2g} µV. That is to compare, and passes nothing."
    )


def _lift_line(results: Sequence[tuple[str, dict[str, Any]]]) -> str:
    lifts = [result for test, result in results if test == LIFT.name]
    ratios = {lead: _values(lifts, f"lift_ratio_{lead}") for lead in ("A", "B")}
    if any(len(values) < GOOD_CAPTURES_LEAST for values in ratios.values()):
        return ""
    words = " and ".join(f"lead {lead} {median(values):,.0f}" for lead, values in ratios.items())
    return (
        f"Lifted, {words} times its own noise are usual. A lead is proven by today's lift alone,"
        " never by earlier ones."
    )


def _values(results: Iterable[dict[str, Any]], name: str) -> list[float]:
    rows = (row for result in results for row in result["measurements"])
    return [row["value"] for row in rows if row["name"] == name]
