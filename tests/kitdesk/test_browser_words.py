"""Browsers in plain words."""

import pytest

from kitdesk.browser_words import browser_in_words

pytestmark = pytest.mark.any_database
KIT = "AppleWebKit/537.36 (KHTML, like Gecko)"


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (
            "Mozilla/5.0 (Windows NT 10.0; rv:140.0) Gecko/20100101 Firefox/140.0",
            "Firefox on Windows",
        ),
        (
            f"Mozilla/5.0 (Windows NT 10.0) {KIT} Chrome/140 Safari/537.36 Edg/140",
            "Edge on Windows",
        ),
        (
            f"Mozilla/5.0 (Linux; Android 15) {KIT} Chrome/140 Mobile Safari/537.36",
            "Chrome on Android",
        ),
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18 Mobile Safari/604.1",
            "Safari on an iPhone",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64) Something/1", "A browser on Linux"),
        ("<script>alert(1)</script>", "An unknown browser"),
        ("", "An unknown browser"),
    ],
)
def test_a_browser_is_named_by_program_and_system(agent, words):
    assert browser_in_words(agent) == words
