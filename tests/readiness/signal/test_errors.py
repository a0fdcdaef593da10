"""A refusal of a file may quote it, and never passes its control characters on."""

from readiness.signal.errors import CaptureRefused


def test_no_control_character_of_a_file_reaches_the_screen():
    refusal = CaptureRefused("Line 1 holds \x1b[2J\u202e.", missing="unit")
    assert str(refusal) == refusal.sentence == "Line 1 holds \ufffd[2J\ufffd."
    assert (refusal.missing, CaptureRefused("No.").missing) == ("unit", "")
    assert isinstance(refusal, ValueError)
