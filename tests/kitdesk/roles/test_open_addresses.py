"""What is open to everybody asks for a key of its own, or shows nothing of the desk."""

import pytest
from django.test import Client

from kitdesk.roles.rules import RULES
from tests.conftest import OWNER_NAME
from tests.factories import packed_loan
from tests.kitdesk.roles.test_rules import ADDRESSES

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
#: To sign in, and whether the desk is well: of these each is looked at by its own tests.
WITHOUT_A_KEY = {
    "account_login",
    "account_inactive",
    "account_signup",
    "mfa_authenticate",
    "mfa_login_webauthn",
    "first_run",
    "health",
}
REFUSED = {401, 403, 404, 405}


def test_nobody_without_its_key_sees_anything_there(owner, clean_cache):
    loan = packed_loan()
    student = loan.enrolment.student
    asked = set()
    for path, match in ADDRESSES.items():
        if not RULES[match.view_name].everybody or match.view_name in WITHOUT_A_KEY:
            continue
        asked.add(match.view_name)
        for method in ("GET", "POST", "PUT", "DELETE"):
            answer = Client().generic(method, path)
            assert answer.status_code in REFUSED, f"{method} {path}: {answer.status_code}"
            shown = answer.content.decode()
            private = (student.name, student.email, loan.kit.code, OWNER_NAME)
            assert not any(word in shown for word in private), path
    assert {"door", "metrics", "rentals:calendar_feed", "rentals:my_kit"} <= asked


@pytest.mark.parametrize("name", sorted(WITHOUT_A_KEY))
def test_pages_without_a_key_show_no_row(name, owner, clean_cache):
    loan = packed_loan()
    [path] = [path for path, match in ADDRESSES.items() if match.view_name == name]
    answer = Client().get(path, follow=True)
    assert answer.status_code in {200, 302, 404}
    shown = answer.content.decode()
    student = loan.enrolment.student
    assert not any(word in shown for word in (student.name, student.email, loan.kit.code))
