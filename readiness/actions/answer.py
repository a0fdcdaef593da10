"""What a person adds to a capture: the missing fact, a meter reading, a reason why it does not
count.
"""

from __future__ import annotations

from typing import Any

from readiness.actions.conclude import conclude
from readiness.actions.queue import queue_again
from readiness.models import Capture
from readiness.selectors.rounds import asks_if_moved, counting, lacks_battery, round_since
from rentals import transaction
from rentals.actions.lock_order import lock_in_order
from rentals.actions.record import Actor, lock_kit, record_kit
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit

ANSWERS = ("kit", "test", "rate_hz", "unit", "window_start_s", "battery_v")
REASON_LEAST = 10
LONGEST_REASON = 300


def lock_capture(capture: Capture) -> Capture:
    """The capture, locked until the transaction ends."""
    return Capture.objects.select_for_update().get(pk=capture.pk)


@transaction.atomic
def answer_question(capture: Capture, facts: dict[str, Any]) -> Capture:
    """Add what the file did not say and score it again; the file itself is never changed.

    Parameters
    ----------
    facts : dict
        Some of ``ANSWERS``: `kit` a Kit, the rest as the engine takes them; empty ones are left
        alone.

    Raises
    ------
    Refused
        If nothing was answered, or the capture is being scored or was scored already.
    """
    capture = lock_capture(capture)
    answers = {name: facts[name] for name in ANSWERS if facts.get(name) not in (None, "")}
    if not answers:
        raise Refused("Answer what is asked, so that the file can be scored.")
    if capture.status not in (Capture.Status.ASKING, Capture.Status.UNREADABLE):
        raise Refused(
            f"{capture.name} is {capture.get_status_display()}: there is nothing to answer."
        )
    if "kit" in answers:
        answers["kit"] = answers["kit"].code
    _declare(capture, answers)
    return capture


@transaction.atomic
def note_battery(kit: Kit, volts: float) -> int:
    """Give the kit's captures of this round the meter's reading where they carry none; how many
    were scored again.

    Raises
    ------
    Refused
        If no capture of this round lacks a reading.
    """
    captures = [c for c in counting(kit, round_since(kit)) if lacks_battery(c)]
    if not captures:
        raise Refused(
            f"No capture of kit {grouped(kit.code)} in this round lacks a battery reading.",
            field="volts",
        )
    keys = [capture.pk for capture in captures]
    for capture in lock_in_order(Capture.objects.filter(pk__in=keys)):
        _declare(capture, {"battery_v": volts})
    return len(captures)


@transaction.atomic
def confirm_moved(capture: Capture, *, actor: Actor = None) -> Capture:
    """Keep the operator's word that each lead was moved through its window, and score the capture
    with it; the word stays with the verdict and in the kit's history.

    Raises
    ------
    Refused
        If its flex does not ask for that: movement was seen, or this amplifier would show it.
    """
    capture = lock_capture(capture)
    if not asks_if_moved(capture):
        raise Refused(
            f"{capture.name} does not ask whether the leads were moved: record flex again instead."
        )
    assert capture.kit is not None  # a capture is scored for a kit
    kit = lock_kit(capture.kit)
    text = f"Capture {capture.name}: the operator confirms that each lead was moved in flex."
    record_kit(kit, Verb.NOTED, text, actor=actor)
    _declare(capture, {"moved": True})
    return capture


@transaction.atomic
def score_again(capture: Capture) -> Capture:
    """Score a capture once more, as it is (after a column map was made, or a file that was not
    readable).
    """
    capture = lock_capture(capture)
    if capture.status == Capture.Status.SCORING:
        raise Refused(f"{capture.name} is being scored now.")
    _queue(capture)
    return capture


@transaction.atomic
def set_aside(capture: Capture, reason: str, *, actor: Actor = None) -> Capture:
    """Take a capture out of the count, with the reason in words; its kit is judged again without
    it.

    Raises
    ------
    Refused
        If the reason is no sentence.
    """
    reason = reason.strip()
    if len(reason) < REASON_LEAST:
        raise Refused(
            "Say in a sentence why this capture does not count; it stays in the record.",
            field="reason",
        )
    capture = lock_capture(capture)
    capture.set_aside = reason[:LONGEST_REASON]
    capture.save(update_fields=["set_aside"])
    if capture.kit is not None:
        kit = lock_kit(capture.kit)
        test = capture.test or "test not known"
        text = f"Capture {capture.name} ({test}) set aside: {capture.set_aside}"
        record_kit(kit, Verb.NOTED, text, actor=actor)
        conclude(kit, actor=actor)
    return capture


@transaction.atomic
def count_again(capture: Capture, *, actor: Actor = None) -> Capture:
    """Take back that a capture was set aside; its kit is judged again with it. Safe to repeat."""
    capture = lock_capture(capture)
    if not capture.set_aside:
        return capture
    capture.set_aside = ""
    capture.save(update_fields=["set_aside"])
    if capture.kit is not None:
        kit = lock_kit(capture.kit)
        record_kit(kit, Verb.NOTED, f"Capture {capture.name} counts again.", actor=actor)
        conclude(kit, actor=actor)
    return capture


def _declare(capture: Capture, facts: dict[str, Any]) -> None:
    """Add facts to what was declared for a locked capture, and have it scored with them."""
    capture.declared = {**capture.declared, **facts}
    capture.save(update_fields=["declared"])
    _queue(capture)


def _queue(capture: Capture) -> None:
    queue_again(Capture.objects.filter(pk=capture.pk))
