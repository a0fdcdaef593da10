"""Which facts count for words that a person changed."""

from __future__ import annotations

from rentals.post.changed import changed_facts, held_sentence
from rentals.post.wording import NAMES, Wording

WORDING = Wording("Kit {kit}", "Due on {due}, {days}. {contents}")
EMPTY = dict.fromkeys(NAMES, "")
BEFORE = EMPTY | {"kit": "K", "due": "1 June", "days": "tomorrow", "contents": "- one", "run": "A"}
NOW = BEFORE | {"due": "8 June", "days": "in 8 days", "run": "B"}


def _names(text: str) -> list[str]:
    return [change.name for change in changed_facts(BEFORE, NOW, wording=WORDING, text=text)]


def test_a_name_of_the_wording_counts_and_a_day_only_where_the_text_speaks_of_one():
    assert _names("Send it.") == ["due"]
    assert _names("Send it next Monday.") == ["due", "days"]


def test_the_sentence_says_what_it_was_what_it_is_and_what_to_do():
    now = NOW | {"contents": "x" * 99}
    sentence = held_sentence(changed_facts(BEFORE, now, wording=WORDING, text="Send it."))
    assert "the day the kit is due back was “1 June”, now “8 June”" in sentence
    assert "x" * 59 + "…" in sentence
    assert "approve it" in sentence
    assert held_sentence([]) == ""
