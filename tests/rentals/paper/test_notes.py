"""What stands below the contents."""

from dataclasses import replace

from rentals.paper.packing_list import packing_list

from .made_up import PARCEL
from .reading import text_of


def test_care_cautions_and_the_way_to_the_instructor_are_on_it():
    text = text_of(packing_list(PARCEL).pdf)
    for part in (
        "never pull the wire",
        "not for diagnosis",
        "implanted stimulator",
        "with your carrier",
        "checked 25 November 2026",
        "Ilse Varga",
        "desk@ease.example",
        "+49 30 5550 0199",
        "Lindengang 4",
        "Code K 0014 E: name it when you write",
    ):
        assert part in text


def test_what_to_do_with_the_cells_stands_below_the_care():
    facts = replace(PARCEL, care="Keep the leads dry.", cells="Charge the cells by 3 May.")
    text = text_of(packing_list(facts).pdf)
    assert "Keep the leads dry." in text
    assert "Charge the cells by 3 May." in text


def test_the_care_text_of_the_kit_type_takes_the_place_of_the_standing_one():
    text = text_of(packing_list(replace(PARCEL, care="Keep the leads dry.\n\nStore flat.")).pdf)
    assert "Keep the leads dry." in text
    assert "Store flat." in text
    assert "never pull the wire" not in text
