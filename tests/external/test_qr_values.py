"""QR codes against ISO/IEC 18004 and the guides of its inventor, and our sizes against those
guides.
"""

import pytest
import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.util import BCH_type_info, BCH_type_number, QRData, create_data

from rentals.paper.qr import QUIET_MODULES, SMALLEST_MODULE_MM, matrix


def test_the_worked_example_of_the_standard():
    # ISO/IEC 18004 Annex I: "01234567", version 1-M.
    words = create_data(1, ERROR_CORRECT_M, [QRData("01234567")])
    assert bytes(words[:16]).hex(" ").upper() == "10 20 0C 56 61 80 EC 11 EC 11 EC 11 EC 11 EC 11"
    assert bytes(words[16:]).hex(" ").upper() == "A5 24 D4 C1 ED 36 C7 87 2C 55"
    assert len(words) == 26


def test_the_format_and_version_words_of_the_standard():
    # ISO/IEC 18004: level M is 00, mask 0 is 000; version words of versions 7, 8 and 9.
    assert f"{BCH_type_info(0b00000):015b}" == "101010000010010"
    assert [BCH_type_number(version) for version in (7, 8, 9)] == [0x07C94, 0x085BC, 0x09A99]


@pytest.mark.parametrize(("version", "side"), [(1, 21), (2, 25), (3, 29), (10, 57), (40, 177)])
def test_the_side_is_seventeen_and_four_a_version(version, side):
    # ISO/IEC 18004: 17 + 4 v.
    code = qrcode.QRCode(version=version, border=0)
    code.make(fit=False)
    assert len(code.get_matrix()) == side


@pytest.mark.parametrize(
    ("version", "level", "numeric", "alphanumeric", "octets"),
    [
        # Capacity table of ISO/IEC 18004.
        (1, ERROR_CORRECT_L, 41, 25, 17),
        (1, ERROR_CORRECT_M, 34, 20, 14),
        (2, ERROR_CORRECT_M, 63, 38, 26),
        (2, ERROR_CORRECT_Q, 48, 29, 20),
        (3, ERROR_CORRECT_M, 101, 61, 42),
        (3, ERROR_CORRECT_H, 58, 35, 24),
        (4, ERROR_CORRECT_M, 149, 90, 62),
    ],
)
def test_capacities_are_those_of_the_table(version, level, numeric, alphanumeric, octets):
    for character, most in (("7", numeric), ("A", alphanumeric), ("a", octets)):
        for length, fits in ((most, version), (most + 1, version + 1)):
            code = qrcode.QRCode(error_correction=level)
            code.add_data(character * length)
            code.make(fit=True)
            assert code.version == fits


def test_fifty_characters_as_in_the_inventors_print_example():
    # Guide of the inventor: 50 alphanumeric characters at level M need version 3; at 400 dpi and 4
    # dots a module the side is 7.366 mm, with the quiet zone 9.398 mm.
    assert len(matrix("A" * 50)) == 29
    assert len(matrix("A" * 38)) == 25
    module = 4 * 25.4 / 400
    assert 29 * module == pytest.approx(7.366, abs=1e-3)
    assert (29 + 2 * QUIET_MODULES) * module == pytest.approx(9.398, abs=1e-3)


def test_the_quiet_zone_is_four_modules_and_a_module_four_dots():
    # Guide of the inventor: margin of four modules on every side; at least four dots of a 300 dpi
    # printer: 0.339 mm.
    assert QUIET_MODULES == 4
    assert pytest.approx(0.339, abs=5e-4) == SMALLEST_MODULE_MM
