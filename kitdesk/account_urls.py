"""The sign-in addresses that this desk offers. No sign-up, no mail round trip: the owner makes the
accounts.
"""

from allauth.account import views
from django.urls import include, path

from kitdesk.views import sessions

urlpatterns = [
    path("login/", views.login, name="account_login"),
    path("logout/", views.logout, name="account_logout"),
    path("inactive/", views.account_inactive, name="account_inactive"),
    path("signup/", views.signup, name="account_signup"),
    path("confirm/", views.reauthenticate, name="account_reauthenticate"),
    path("password/", views.password_change, name="account_change_password"),
    path("sessions/", sessions.sessions, name="sessions"),
    path("sessions/end/", sessions.end, name="session_end"),
    path("second-step/", include("kitdesk.second_step_urls")),
]
