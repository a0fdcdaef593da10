"""What is next with a parcel in which something lacked."""

from django.urls import reverse

from rentals.next_acts import SEE_TO_ARRIVAL
from rentals.next_acts.arrival import SEE_TO_ARRIVAL as HERE


def test_it_leads_to_the_page_that_answers_the_student():
    assert SEE_TO_ARRIVAL is HERE
    assert reverse(SEE_TO_ARRIVAL.route, args=[7]) == "/loans/7/arrival-check/"
