"""Money: what is owed, and what is noted on a loan."""

from django.urls import path

from rentals.views import money

urlpatterns = [
    path("money/", money.owed, name="money"),
    path("money/owed.<str:form>", money.owed_export, name="money_export"),
    path("loans/<row:pk>/deposit/", money.deposit_received, name="loan_deposit"),
    path("loans/<row:pk>/give-up/", money.give_up, name="loan_give_up"),
    path("loans/<row:pk>/claim/", money.claim, name="loan_claim"),
    path("loans/<row:pk>/compensated/", money.compensated, name="loan_compensated"),
    path("loans/<row:pk>/not-compensated/", money.not_compensated, name="loan_not_compensated"),
]
