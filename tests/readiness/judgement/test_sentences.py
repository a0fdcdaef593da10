"""What people read carries the micro sign; what they must type does not."""

from readiness.judgement.sentences import finding_for_people, for_people


def test_numbers_get_the_micro_sign_and_header_lines_do_not():
    assert (
        for_people("Jumps of up to 4816 uV at 5.33 s; 0.9 uV RMS.")
        == "Jumps of up to 4816 µV at 5.33 s; 0.9 µV RMS."
    )
    typed = "Give it as a header line '# unit: uV' (V, mV, uV or nV)."
    assert for_people(typed) == typed


def test_only_the_sentence_of_a_finding_changes():
    found = {"code": "burst_noise", "text": "Up to 30 uV.", "action": "Test again"}
    assert finding_for_people(found) == {
        "code": "burst_noise",
        "text": "Up to 30 µV.",
        "action": "Test again",
    }
