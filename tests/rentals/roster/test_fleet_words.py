"""Kinds and headings of a fleet's table, in the words people use."""

import pytest

from rentals.models import SERIAL_KINDS
from rentals.roster.columns import plain
from rentals.roster.fleet_words import FLEET_HEADS, KIND_LABELS, is_counted, kind_meant


def test_every_kind_with_a_serial_is_known_by_its_name_and_label() -> None:
    assert list(KIND_LABELS) == [kind.value for kind in SERIAL_KINDS]
    for kind in SERIAL_KINDS:
        assert kind_meant(kind.value) == kind_meant(kind.label.upper()) == kind.value
        assert kind_meant(KIND_LABELS[kind]) == kind.value


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("Amp", "amplifier"),
        ("EMG unit (2 channels)", "amplifier"),
        ("License-Key", "licence_key"),
        ("Kabelsatz", "lead_set"),
        ("Akku", "battery_pack"),
        ("Ladegerät", "charger"),
        ("spoon", ""),
        ("", ""),
    ],
)
def test_kinds_in_plain_words(word: str, kind: str) -> None:
    assert kind_meant(word) == kind


def test_names_of_the_contents_list_go_first_and_counted_things_are_known() -> None:
    assert kind_meant("The Charger!", {plain("the charger"): "battery_pack"}) == "battery_pack"
    assert is_counted("Gel electrodes") and not is_counted("amplifier")


@pytest.mark.parametrize(
    ("head", "field"),
    [("Kit no.", "kit"), ("Part", "kind"), ("S/N", "serial"), ("Serial Number *", "serial")],
)
def test_headings(head: str, field: str) -> None:
    assert FLEET_HEADS.field_of(head) == field
