"""Labels and printed serial numbers mean the same part."""

import pytest

from rentals.errors import Refused
from rentals.models import PackingLine
from rentals.selectors.part_scan import code_meant, other_kit_on_label, unknown_serial
from tests.factories import assigned_loan, complete_kit, spare

pytestmark = pytest.mark.django_db


def test_a_serial_means_the_part_that_bears_it_and_that_of_the_parcel_first():
    loan = assigned_loan()
    lines = PackingLine.objects.filter(loan=loan)
    charger = loan.kit.parts.get(kind="charger")
    assert code_meant(f" {charger.serial.lower()} ", lines) == charger.code
    assert code_meant(charger.code.lower()) == charger.code
    twin = spare("amplifier", charger.serial)
    assert code_meant(charger.serial, lines) == charger.code
    with pytest.raises(Refused) as question:
        code_meant(charger.serial)
    assert "Scan the label" in question.value.sentence
    for code in (twin.code, charger.code):
        assert code in question.value.sentence.replace(" ", "")
    for text, says_so in (("no such thing", True), ("", False), ("\x00", False), ("P0001X", False)):
        with pytest.raises(Refused) as unknown:
            code_meant(text, lines)
        assert ("No part on file has it" in unknown.value.sentence) == says_so


def test_only_the_label_of_another_kit_turns_to_it():
    kit, following = complete_kit(), complete_kit()
    assert other_kit_on_label(following.code.lower(), kit) == following
    for text in (kit.code, kit.parts.first().code, "Ada", ""):
        assert other_kit_on_label(text, kit) is None


def test_only_what_is_no_code_and_on_no_part_is_an_unknown_serial():
    part = spare("charger", "C-1")
    assert unknown_serial("  AX \x00 17 ") == "AX 17"
    known = (part.code, "c-1", "", "K0001X", "https://desk.example/x", "n" * 61)
    assert [text for text in known if unknown_serial(text)] == []
