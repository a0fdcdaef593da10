"""QR codes are as large as their scanning distance asks for, and as their room allows."""

import pytest

from rentals.codes import code_link, make_code
from rentals.paper.ink import Ink
from rentals.paper.qr import SMALLEST_MODULE_MM, draw_qr, matrix, module_mm
from tests.rentals.paper.reading import codes_in, picture


def test_the_size_follows_the_scanning_distance():
    # Rule of thumb of the trade: width is a tenth of the distance, 30 cm give 3 cm.
    assert 29 * module_mm(29, room_mm=60, distance_mm=300) == pytest.approx(30)
    # Less room than the rule asks for: as large as the room allows, quiet zone included.
    assert 37 * module_mm(29, room_mm=18.5, distance_mm=300) == pytest.approx(18.5)
    # A very near scan never goes below four dots of a 300 dpi printer.
    assert module_mm(29, room_mm=60, distance_mm=10) == SMALLEST_MODULE_MM
    with pytest.raises(ValueError, match=r"needs 12\.5 mm"):
        module_mm(29, room_mm=12, distance_mm=100)


@pytest.mark.parametrize(
    ("modules", "module", "side", "with_quiet_zone"),
    [
        (25, 0.5, 12.5, 16.5),
        (29, 0.5, 14.5, 18.5),
        (33, 0.4, 13.2, 16.4),
    ],  # arithmetic on the standard's sides
)
def test_common_sizes(modules, module, side, with_quiet_zone):
    assert modules * module == pytest.approx(side)
    assert module_mm(modules, with_quiet_zone, 10 * side) == pytest.approx(module)


def test_a_link_in_capitals_takes_a_smaller_code():
    link = code_link("https://kits.ease.example", make_code("K", 14))
    assert len(matrix(link)) == 25 < len(matrix(link.lower()))


def test_a_drawn_code_reads_back_and_says_how_large_its_modules_are():
    ink = Ink("One code", paper=(60.0, 60.0))
    module = draw_qr(ink, 10, 10, "KITDESK", room_mm=40)
    assert module == module_mm(len(matrix("KITDESK")), 40, 250)
    assert codes_in(picture(ink.printed().pdf)) == ["KITDESK"]
