"""Words of a file in a sentence for the screen."""

from readiness.signal.readers.quoting import quoted


def test_words_are_cut_and_what_cannot_be_printed_is_written_out():
    assert quoted("  emg ") == "'emg'"
    assert quoted("a\x07\u202eb") == r"'a\x07\u202eb'"
    assert quoted("x" * 50) == "'" + "x" * 37 + "...'"
    assert quoted("x" * 50, longest=60) == "'" + "x" * 50 + "'"
