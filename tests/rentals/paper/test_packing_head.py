"""The heads of a packing list: as high as what they say."""

from dataclasses import replace

import pytest

from rentals.paper.ink import Ink
from rentals.paper.packing_head import first_head, later_head, return_address

from .made_up import PARCEL, PRACTICE

pytestmark = pytest.mark.any_database


def test_the_head_measures_what_it_draws_and_grows_with_its_reason():
    ink = Ink("Heads")
    short = first_head(ink, PARCEL, inside_copy=True, drawn=False)
    assert first_head(ink, PARCEL, inside_copy=True, drawn=True) == short
    long = replace(PARCEL, override_reason="One of many reasons. " * 24)
    assert first_head(ink, long, inside_copy=True, drawn=False) > short + 8
    assert first_head(ink, long, inside_copy=False, drawn=False) < short
    assert later_head(ink, replace(PARCEL, run="Long run " * 20), drawn=False) > later_head(
        ink, PARCEL, drawn=False
    )


def test_the_return_address_names_its_country_for_a_student_abroad():
    assert return_address(PARCEL)[-1] == "GERMANY"
    assert return_address(replace(PARCEL, address=None))[-1] == "10999 MUSTERHAUSEN"
    assert return_address(replace(PARCEL, practice=replace(PRACTICE, address=None))) == []
