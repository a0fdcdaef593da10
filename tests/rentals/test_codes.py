import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from rentals.codes import (
    PREFIXES,
    NotACode,
    code_link,
    grouped,
    is_code,
    kind_of,
    looks_like_code,
    make_code,
    parse_code,
)

ALPHABET = string.digits + string.ascii_uppercase


@pytest.mark.parametrize(
    ("body", "check"),
    [
        # Worked values printed for identifiers that use ISO 7064 MOD 37,36:
        ("A12425GABC1234002", "M"),  # GRid A1-2425G-ABC1234002-M, the example of the GRid standard
        (
            "00000000D07A0090",
            "Q",
        ),  # ISAN 0000-0000-D07A-0090-Q-0000-0000-X, example of the ISAN user guide
        ("00000000D07A009000000000", "X"),  # the same, check character of the version part
    ],
)
def test_the_check_character_is_the_published_one(body, check):
    assert mod_37_36.calc_check_digit(body) == check


def test_a_code_is_prefix_number_and_check_character():
    assert make_code("K", 14) == "K0014E"
    assert make_code("P", 123456)[:-1] == "P123456"
    assert [make_code("L", n)[:-1] for n in (1, 9999, 10000)] == ["L0001", "L9999", "L10000"]


def test_the_worked_code_by_the_hybrid_recursion_of_the_standard():
    # Hybrid system of ISO 7064 with M = 36: P = 36; S = P + a (36 where S mod 36 is 0); P = 2 S mod
    # 37; P + c = 1.
    product = 36
    for character in "K0014":
        total = (product + ALPHABET.index(character)) % 36 or 36
        product = total * 2 % 37
    assert make_code("K", 14)[-1] == ALPHABET[(1 - product) % 36]


@pytest.mark.parametrize(
    ("prefix", "number"), [("X", 1), ("k", 1), ("", 1), ("K", 0), ("K", -3), ("K", 10**9)]
)
def test_what_has_no_code_is_refused(prefix, number):
    with pytest.raises(ValueError, match="must be"):
        make_code(prefix, number)


@given(st.sampled_from(sorted(PREFIXES)), st.integers(1, 10**9 - 1))
def test_every_code_reads_back_from_its_print_and_from_its_link(prefix, number):
    code = make_code(prefix, number)
    assert (
        parse_code(code)
        == parse_code(grouped(code))
        == parse_code(code_link("https://kits.example", code))
        == code
    )
    assert kind_of(code) == PREFIXES[prefix]


@pytest.mark.parametrize(
    "typed",
    [
        "k0014e",
        "  K 0014 E\n",
        "K-0014-E",
        "K–0014—E",
        "Ｋ００１４Ｅ",
        "K\u00a00014\u2009E",
        "\ufeffK0014E",
        "https://kits.example/s/K0014E",
        "HTTPS://KITS.EXAMPLE/S/K0014E",
        "http://127.0.0.1:8000/s/k0014e/?from=phone#top",
        "https://kits.example/below/s/K%200014%20E",
    ],
)
def test_the_ways_people_and_scanners_write_a_code(typed):
    assert parse_code(typed) == "K0014E"


@given(st.integers(1, 10**6), st.integers(0, 5), st.sampled_from(ALPHABET))
def test_one_wrong_character_never_makes_another_code(number, place, wrong):
    code = make_code("K", number)
    if code[place] == wrong:
        return
    assert not is_code(code[:place] + wrong + code[place + 1 :])


def test_ninety_nine_in_a_hundred_swaps_of_neighbours_are_found():
    codes = [make_code("K", n) for n in range(1, 10_000)]
    swapped = [
        c[:i] + c[i + 1] + c[i] + c[i + 2 :] for c in codes for i in range(1, 4) if c[i] != c[i + 1]
    ]
    assert sum(map(is_code, swapped)) / len(swapped) < 0.01


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "no code here"),
        (" - ", "no code here"),
        ("K0O14E", "O where only digits can stand"),
        ("KOOI4E", "I and O where only digits can stand"),
        ("K0014F", "does not hold together"),
        ("K0104E", "does not hold together"),
        ("X0014E", "is not a code"),
        ("K014E", "is not a code"),
        ("K00014E", "is not a code"),
        ("K١٢٣٤E", "is not a code"),
        ("ſ0014E", "is not a code"),
        ("Violin part 2", "is not a code"),
        ("https://kits.example/", "no code here"),
        ("https://[broken/s/K0014E", "is not a code"),
        ("K" * 5000, "too long"),
    ],
)
def test_what_is_no_code_is_refused_with_a_sentence(typed, says):
    with pytest.raises(NotACode) as refusal:
        parse_code(typed)
    assert says in refusal.value.sentence
    assert len(refusal.value.sentence) < 260
    assert not is_code(typed)


def test_a_look_alike_in_the_last_place_is_named_and_not_guessed():
    code = next(c for c in (make_code("K", n) for n in range(1, 500)) if c[-1] == "O")
    with pytest.raises(NotACode, match="easily mistaken"):
        parse_code(code[:-1] + "0")
    assert parse_code(code.lower()) == code


def test_long_numbers_are_grouped_from_the_right():
    assert grouped("K0014E") == "K 0014 E"
    assert grouped(make_code("P", 1234567))[:-1] == "P 123 4567 "


def test_the_link_is_in_capitals_unless_the_site_has_a_path():
    assert code_link("https://kits.example/", "K0014E") == "HTTPS://KITS.EXAMPLE/S/K0014E"
    assert code_link("https://kits.example/Desk/", "K0014E") == "https://kits.example/Desk/s/K0014E"


@pytest.mark.parametrize("site", ["", "kits.example", "ftp://kits.example", "https://"])
def test_a_site_address_that_no_phone_could_open_is_refused(site):
    with pytest.raises(ValueError, match="site address"):
        code_link(site, "K0014E")


def test_a_refusal_is_its_sentence():
    assert str(NotACode("Why.")) == NotACode("Why.").sentence == "Why."


def test_a_text_as_long_as_a_scan_may_be_is_read_and_a_longer_one_is_not():
    assert is_code("K0014E".ljust(2000))
    with pytest.raises(NotACode, match="too long"):
        parse_code("K0014E".ljust(2001))


@pytest.mark.parametrize(("last", "twin"), [("O", "0"), ("0", "O"), ("I", "1"), ("1", "I")])
def test_every_look_alike_in_the_last_place_is_named(last, twin):
    code = next(c for c in (make_code("K", n) for n in range(1, 500)) if c[-1] == last)
    with pytest.raises(NotACode, match="easily mistaken"):
        parse_code(code[:-1] + twin)


def test_a_wrong_last_character_that_resembles_no_right_one_is_no_look_alike():
    code = next(c for c in (make_code("K", n) for n in range(1, 500)) if c[-1] not in "O0I1")
    with pytest.raises(NotACode, match="one character is wrong"):
        parse_code(code[:-1] + "1")


def test_any_letter_among_the_digits_is_named():
    with pytest.raises(NotACode, match="K0A14E has A where only digits can stand"):
        parse_code("K0A14E")


def test_an_address_begins_with_its_scheme():
    assert parse_code("abcdefghi://desk/s/K0014E") == "K0014E"
    assert not is_code("abcdefghij://desk/s/K0014E")


def test_a_refusal_shows_what_was_typed_clipped_when_long():
    for typed, shown in [("x" * 24, "x" * 24), ("x" * 25, "x" * 23 + "…")]:
        with pytest.raises(NotACode) as refusal:
            parse_code(typed)
        assert refusal.value.sentence.startswith(f"“{shown}” is not a code.")


def test_a_mistyped_code_still_looks_like_one_and_a_number_of_a_carrier_does_not():
    for text in ("K0014E", "k 0014 f", "https://desk.example/s/P0001C"):
        assert looks_like_code(text)
    for text in ("RR 1234 5678 DE", "1234567890", "X0014E", ""):
        assert not looks_like_code(text)
