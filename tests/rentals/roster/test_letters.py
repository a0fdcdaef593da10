"""The letters of a file that does not say how they are written."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.roster.letters import ENCODINGS, likeliest, readings

pytestmark = pytest.mark.any_database

NAMES = {
    "cp1252": "Jürgen Größe,Köln\nFrançois Dupré,Besançon",
    "cp1250": "Łukasz Żółć,Łódź\nJiří Dvořák,Plzeň",
    "iso8859_2": "Łukasz Żółć,Łódź\nJiří Dvořák,Plzeň",
    "cp1251": "Иван Петров,Москва",
    "cp1253": "Γιώργος Παπαδόπουλος,Αθήνα",
    "cp852": "Łukasz Żółć,Łódź\nJiří Dvořák,Plzeň",
    "mac_roman": "Jürgen Größe,Köln\nFrançois Dupré,Besançon",
    "cp932": "山田 太郎,東京",
    "gb18030": "王小明,北京",
    "big5": "陳大文,臺北",
    "cp949": "김민수,서울",
}


@pytest.mark.parametrize("encoding", NAMES)
def test_the_names_are_read_right_at_first_or_by_choice(encoding: str) -> None:
    content = NAMES[encoding].encode(encoding)
    assert content.decode(likeliest(content)) == NAMES[encoding]
    samples = [reading.samples for reading in readings(content)]
    assert len(set(samples)) == len(samples) <= 8


@pytest.mark.parametrize(
    ("encoding", "names"),
    [("cp1254", "Çağrı Yıldız,İzmir"), ("cp1257", "Jānis Bērziņš,Rīga"), ("cp1255", "דוד כהן")],
)
def test_what_cannot_be_told_apart_is_among_the_choices(encoding: str, names: str) -> None:
    content = names.encode(encoding)
    assert any(content.decode(found.encoding) == names for found in readings(content))


def test_no_reading_with_signs_that_no_text_holds_is_offered() -> None:
    found = readings("Źrebię,Łódź".encode("cp1250"))
    texts = ["".join(reading.samples) for reading in found]
    assert texts and not any("\u0080" <= sign <= "\u009f" for text in texts for sign in text)


def test_unicode_and_plain_letters_leave_nothing_to_choose() -> None:
    assert readings("Jürgen,Łódź".encode()) == () == readings(b"Jurgen,Lodz")


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_can_be_decoded_as_offered(content: bytes) -> None:
    for reading in readings(content):
        assert reading.encoding in ENCODINGS and reading.samples
        content.decode(reading.encoding)


def test_only_the_beginning_of_what_is_foreign_is_looked_at() -> None:
    far = "Zoë,Bühl\n" * 15_000 + "Ärger"
    samples = readings(("Name,City\n" * 15_000 + far).encode("cp1252"))[0].samples
    assert samples == ("Zoë", "Bühl")
    assert all(len(sample) <= 200 for sample in readings(b"\xe4" * 100_000)[0].samples)
