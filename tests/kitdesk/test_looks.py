"""Light and dark as chosen, and the page of keys."""

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db


def page(client, address: str = "/keys/") -> str:
    return client.get(address).content.decode()


def test_a_theme_stays_chosen_until_the_device_decides_again(signed_in):
    assert "data-theme" not in page(signed_in)
    answer = signed_in.post(reverse("theme"), {"theme": "dark", "next": "/kits/?q=x"})
    assert answer.url == "/kits/?q=x"
    assert '<html lang="en" data-theme="dark">' in page(signed_in, "/kits/")
    for word in ("", "purple"):
        signed_in.post(reverse("theme"), {"theme": "light"})
        assert 'data-theme="light"' in page(signed_in)
        signed_in.post(reverse("theme"), {"theme": word, "next": "https://elsewhere.example/"})
        assert "data-theme" not in page(signed_in)
    signed_in.cookies["theme"] = '"><script>'
    assert "data-theme" not in page(signed_in)


def test_the_page_of_keys_names_them_and_is_found_under_the_name(signed_in):
    assert reverse("keys") in page(signed_in, "/")
    for key in ("/", "?", "Esc", "Space"):
        assert f"<kbd>{key}</kbd>" in page(signed_in)


@pytest.mark.parametrize("words", ['<ol class="checklist"', '<ol class="history"'])
def test_a_list_without_marks_is_still_called_a_list(words, settings):
    """One engine takes a list without bullets for mere layout, unless its role says otherwise."""
    folder = settings.BASE_DIR / "templates"
    lines = [
        line
        for page in folder.rglob("*.html")
        for line in page.read_text().splitlines()
        if line.strip().startswith(words)
    ]
    assert lines and all('role="list"' in line for line in lines)
