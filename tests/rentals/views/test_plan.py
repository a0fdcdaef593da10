"""The Plan page."""

import pytest
from django.test import Client
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_the_plan_stands_in_the_navigation_and_says_the_turnaround(signed_in: Client) -> None:
    page = signed_in.get(reverse("rentals:plan")).content.decode()
    assert f'<a href="{reverse("rentals:plan")}" aria-current="page">Plan</a>' in page
    assert "3 working days" in page
    assert "check 1, charge 1, bench 1" in page
