import pytest

from rentals.paper.addresses import (
    address_lines,
    country_code,
    country_line,
    country_name,
)
from rentals.paper.facts import Address

HOME = Address("Ease at the Instrument", "Lindengang 4", "Musterhausen", "10999", country="DE")
IRISH = Address("Orla Byrne", "12 Harbour Row", "Galway", "H91 X2Y3", country="IE")


@pytest.mark.parametrize(
    ("country", "fields", "lines"),
    [
        # Postcode before or after the town and region by country: formats of the address data set
        # (from CLDR's kin).
        ("DE", {}, ["Street 1", "12345 TOWN"]),
        ("GB", {}, ["Street 1", "TOWN", "12345"]),
        ("US", {"region": "CA"}, ["Street 1", "TOWN, CA 12345"]),
        ("NL", {}, ["Street 1", "12345 TOWN"]),
        ("AU", {"region": "NSW"}, ["Street 1", "TOWN NSW 12345"]),
    ],
)
def test_the_destination_decides_the_order_of_the_lines(country, fields, lines):
    to = Address("A Name", "Street 1", "Town", "12345", country=country, **fields)
    assert address_lines(to, country) == ["A Name", *lines]


def test_sent_abroad_the_last_line_is_the_country_in_capitals_at_home_there_is_none():
    # UPU S42 practice: country last, in capitals, in a language the origin post reads.
    assert address_lines(IRISH, "DE")[-1] == "IRELAND"
    assert address_lines(IRISH, "DE", "de")[-1] == "IRLAND"
    assert address_lines(IRISH, "IE")[-1] == "H91 X2Y3"
    assert address_lines(HOME, "DE")[-1] == "10999 MUSTERHAUSEN"


def test_a_field_the_format_has_no_place_for_is_printed_all_the_same():
    japanese = Address(
        "Aiko Mori", "2-1-5 Sakuradai", "Nerima-ku", "176-0002", "Tokyo", country="JP"
    )
    assert address_lines(japanese, "DE") == [
        "Aiko Mori",
        "2-1-5 Sakuradai",
        "Nerima-ku, TOKYO",
        "176-0002",
        "JAPAN",
    ]
    german = Address(
        "A Name", "Street 1", "Town", "12345", region="Brandenburg", district="Nord", country="DE"
    )
    lines = address_lines(german, "DE")
    assert lines == ["A Name", "Street 1", "Nord", "Brandenburg", "12345 TOWN"]


@pytest.mark.parametrize(
    "country", ["DE", "GB", "US", "JP", "CN", "BR", "IN", "AE", "KR", "AQ", "XK"]
)
def test_no_field_is_ever_lost(country):
    full = Address(
        "Nname",
        "Sstreet 1\nSstair 2",
        "Ccity",
        "Zz1",
        "Rregion",
        country,
        "Ddistrict",
        "Xx9",
        "Ocompany",
    )
    text = " ".join(address_lines(full, "DE", "en")).upper()
    for field in (
        "NNAME",
        "SSTREET 1",
        "SSTAIR 2",
        "CCITY",
        "ZZ1",
        "RREGION",
        "DDISTRICT",
        "XX9",
        "OCOMPANY",
    ):
        assert field in text


def test_a_japanese_address_in_its_own_script_runs_from_large_to_small():
    to = Address("山田 葵", "桜台2-1-5", "練馬区", "176-0002", "東京都", country="JP")
    assert address_lines(to, "DE") == [
        "〒176-0002",
        "東京都",
        "練馬区",
        "桜台2-1-5",
        "山田 葵",
        "JAPAN",
    ]


def test_missing_fields_leave_no_stray_punctuation():
    assert address_lines(Address("A", "S 1", "Town", country="US"), "US") == ["A", "S 1", "TOWN"]
    assert address_lines(Address("A", "S 1", postcode="90210", country="US"), "US") == [
        "A",
        "S 1",
        "90210",
    ]
    assert address_lines(Address("A"), "") == ["A"]


def test_capitals_follow_the_language():
    assert "26221 ΠΑΤΡΑ" in address_lines(Address("Ε", "Ο 5", "Πάτρα", "26221", country="GR"), "DE")
    assert any(
        "İZMİR" in line
        for line in address_lines(Address("A", "S", "İzmir", "35000", country="TR"), "DE")
    )


def test_an_address_without_country_counts_as_the_senders():
    assert address_lines(Address("A", "S 1", "Town", "12345"), "DE") == ["A", "S 1", "12345 TOWN"]


def test_country_codes_are_iso_and_the_posts_own_are_mapped():
    # ISO 3166-1: GB; UK is only reserved.
    assert [country_code(text) for text in ("gb", "UK", " de ", "EL", "AT")] == [
        "GB",
        "GB",
        "DE",
        "GR",
        "AT",
    ]
    assert country_name("UK") == "United Kingdom"
    for wrong in ("", "D", "DEU", "QQ", "12"):
        with pytest.raises(ValueError, match="not a country code"):
            country_code(wrong)


def test_a_town_that_is_its_own_region_is_written_once():
    to = Address("Sara Ali", "Street 5", "Dubai", region="Dubai", country="AE")
    assert address_lines(to, "DE") == ["Sara Ali", "Street 5", "Dubai", "UNITED ARAB EMIRATES"]
    unknown = Address("Sara Ali", "Street 5", "Dubai", region="DUBAI")
    assert address_lines(unknown) == ["Sara Ali", "Street 5", "Dubai"]
    new_york = Address("A", "S 1", "New York", "10001", "New York", country="US")
    assert address_lines(new_york, "US")[-1] == "NEW YORK, NEW YORK 10001"


def test_the_country_line_stands_by_itself_for_what_leaves_the_country():
    assert country_line(IRISH, "DE") == "IRELAND"
    assert (
        country_line(IRISH, "IE") == country_line(IRISH) == country_line(Address("A"), "DE") == ""
    )
