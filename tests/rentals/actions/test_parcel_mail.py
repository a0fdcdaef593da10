"""The mails of packing and posting, and whether they leave by themselves."""

import pytest

from rentals.models import Message, Practice
from tests.factories import EnrolmentFactory, complete_kit, packed_loan
from tests.rentals.letters import steps

pytestmark = pytest.mark.django_db


def test_its_mail_waits_as_a_draft_until_setup_lets_it_leave():
    packed_loan()
    assert Message.objects.get().state == "draft"
    Practice.objects.create(pk=1, mails_leave_at_once=True)
    packed_loan()
    mail = Message.objects.latest("pk")
    assert (mail.state, mail.automatic) == ("approved", True)
    assert "Approved by itself, as Setup says." in steps(mail)


def test_a_mail_that_cannot_be_sent_stays_a_draft():
    Practice.objects.create(pk=1, mails_leave_at_once=True)
    enrolment = EnrolmentFactory(student__email="jörg@strings.example")
    packed_loan(complete_kit(enrolment.run.kit_type), enrolment)
    assert Message.objects.get().state == "draft"
