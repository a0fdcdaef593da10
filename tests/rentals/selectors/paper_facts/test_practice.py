import pytest

from rentals.paper.packing_list import packing_list
from rentals.selectors.paper_facts.packing_lists import packing_list_facts
from rentals.selectors.paper_facts.practice import house_fonts, practice_facts
from tests.factories import (
    assigned_loan,
)
from tests.rentals.paper.reading import codes_in, picture

pytestmark = pytest.mark.django_db


def test_an_untouched_practice_prints_with_the_settings_site_address(settings):
    settings.SITE_URL = "https://desk.example"
    desk = practice_facts()
    assert desk.site_url == "https://desk.example"
    assert desk.address is None
    assert codes_in(picture(packing_list(packing_list_facts(assigned_loan())).pdf)) != []


def test_the_practices_own_font_files_come_from_the_settings(settings, tmp_path):
    settings.KITDESK_FONTS = [str(tmp_path / "lacking.ttf")]
    with pytest.raises(ValueError, match=r"lacking\.ttf cannot be used"):
        house_fonts()
    settings.KITDESK_FONTS = []
    assert house_fonts().width("a", 10) > 0
