import pytest

from rentals.paper.east_asian import has_character, language_of, language_of_family

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("text", "country", "language"),
    [
        ("直子の弓", "CN", "ja"),
        ("金 민준", "", "ko"),
        ("ㄅ直", "", "zh-Hant"),
        ("直骨", "JP", "ja"),
        ("直骨", "kr", "ko"),
        ("直骨", "HK", "zh-HK"),
        ("刘晓伟", "DE", "zh-Hans"),
        ("劉曉偉", "", "zh-Hant"),
        ("桜井", "", "ja"),
        ("Mila", "", "zh-Hans"),
    ],
)
def test_kana_and_hangul_tell_then_the_country_then_the_characters(text, country, language):
    assert language_of(text, country) == language


def test_a_collections_faces_go_by_their_family():
    assert language_of_family("Sans JP") == "ja"
    assert language_of_family("Sans Mono JP") == language_of_family("Sans Thai") == ""
    assert language_of_family("") == ""


def test_a_character_set_holds_its_characters():
    assert has_character("gb2312")("王") and not has_character("gb2312")("玥")
