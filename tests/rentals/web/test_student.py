"""The way into a student's page."""

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.student_links import renew_link, stop_link
from rentals.models import Loan
from rentals.selectors.student_links import token_of_link
from rentals.student_tokens import token_of
from rentals.web.student import WRONG_TOKENS
from tests.factories import packed_loan
from tests.hour import most

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]


@pytest.fixture
def loan() -> Loan:
    return dispatch(packed_loan().kit)


def token_for(loan: Loan) -> str:
    return token_of_link(loan.student_links.get(revoked_at=None))


def opened(token: str, client: Client | None = None):
    return (client or Client()).get(f"/my-kit/{token}/")


def test_the_link_opens_its_loan_and_leaves_no_cookie(loan):
    answer = opened(token_for(loan))
    assert answer.status_code == 200
    assert loan.enrolment.run.name in answer.text
    assert not answer.cookies
    assert answer["Cache-Control"] == "no-store"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "noindex" in answer["X-Robots-Tag"]
    loan.refresh_from_db()
    assert loan.student_links.get().last_used_at is not None


def test_hundreds_of_wrong_tokens_are_refused_and_throttled(loan):
    client = Client()
    token = token_for(loan)
    guesses = [token_of(b"guess", loan.pk, str(number)) for number in range(most(250, 1000))]
    codes = [opened(guess, client).status_code for guess in guesses]
    assert set(codes) == {404, 429}
    assert codes.count(404) <= 2 * WRONG_TOKENS.most
    refused = opened(token, client)
    assert refused.status_code == 429 and loan.enrolment.run.name not in refused.text
    elsewhere = Client(REMOTE_ADDR="192.0.2.77")
    assert opened(token, elsewhere).status_code == 200
    cache.clear()
    assert opened(token, client).status_code == 200


def test_right_tokens_use_nothing_up(loan):
    codes = {opened(token_for(loan)).status_code for _ in range(WRONG_TOKENS.most + 5)}
    assert codes == {200}


def test_stopped_renewed_and_ended_links_open_nothing(loan):
    first = token_for(loan)
    second = renew_link(loan)
    assert opened(first).status_code == 410 and opened(second).status_code == 200
    stop_link(loan)
    gone = opened(second)
    assert gone.status_code == 410
    assert loan.enrolment.student.name not in gone.text
    assert loan.enrolment.run.name not in gone.text
    third = renew_link(loan)
    Loan.objects.filter(pk=loan.pk).update(closed_at=timezone.now() - timedelta(days=32))
    assert opened(third).status_code == 410


def test_numbers_and_codes_of_loans_open_nothing(loan):
    link = loan.student_links.get()
    for text in (loan.pk, loan.kit.code, link.token_sha256, link.nonce, "\N{BULLET}" * 8):
        assert opened(text).status_code == 404


def test_other_methods_are_refused(loan):
    answer = Client().delete(f"/my-kit/{token_for(loan)}/")
    assert answer.status_code == 405 and answer["Cache-Control"] == "no-store"
