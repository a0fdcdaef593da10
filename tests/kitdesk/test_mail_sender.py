"""The check that names a sender which no mail server would take."""

import pytest

from kitdesk.checks import sender_can_be_answered


@pytest.mark.parametrize(
    ("sender", "to_files", "wrong"),
    [
        ("Kitdesk <kitdesk@localhost>", False, True),
        ("Kitdesk <kitdesk@localhost>", True, False),  # nothing leaves the machine
        ("Kitdesk <desk@quietbow.example>", False, False),
    ],
)
def test_a_sender_that_nobody_can_answer_is_named(settings, sender, to_files, wrong):
    settings.DEFAULT_FROM_EMAIL, settings.KITDESK_MAIL_TO_FILES = sender, to_files
    assert [found.id for found in sender_can_be_answered(None)] == (
        ["kitdesk.W002"] if wrong else []
    )
