"""The filter above every list: words and choices from the address, and what its form shows."""

from django.http import QueryDict
from django.test import RequestFactory

from rentals.web.filters import FilterChoice, filter_values, list_filter

STATE = FilterChoice("state", "State", [("", "all"), ("away", "away")])


def test_words_and_choices_are_trimmed_and_hold_nothing_a_database_refuses():
    request = RequestFactory().get("/", {"q": f"  Ann\x00 {'x' * 200}", "state": "away\x00"})
    wanted = list_filter(request, STATE)
    assert wanted.words.startswith("Ann x") and len(wanted.words) == 100
    assert wanted.chosen("state") == "away"
    empty = filter_values(QueryDict(""), ("state", "run"))
    assert empty == {"q": "", "state": "", "run": ""}


def test_an_address_without_a_filter_means_the_usual_one():
    usual = {"state": "away"}
    for address, state in [("/", "away"), ("/?state=", ""), ("/?q=lee", ""), ("/?page=2", "away")]:
        wanted = list_filter(RequestFactory().get(address), STATE, usual=usual)
        assert wanted.chosen("state") == state


def test_the_form_shows_what_was_chosen():
    wanted = list_filter(RequestFactory().get("/?q=lee&state=away"), STATE)
    [drawn] = wanted.context()["choices"]
    assert wanted.context()["q"] == "lee"
    assert (drawn["name"], drawn["label"]) == ("state", "State")
    assert [(value, chosen) for value, _, chosen in drawn["options"]] == [
        ("", False),
        ("away", True),
    ]
