"""The second step and passkeys. Of the library's addresses only those that this desk has pages
for.
"""

from allauth.mfa.webauthn import views
from django.urls import include, path

urlpatterns = [
    path("", include("allauth.mfa.base.urls")),
    path("totp/", include("allauth.mfa.totp.urls")),
    path("recovery-codes/", include("allauth.mfa.recovery_codes.urls")),
    path("passkeys/", views.list_webauthn, name="mfa_list_webauthn"),
    path("passkeys/add/", views.add_webauthn, name="mfa_add_webauthn"),
    path("passkeys/confirm/", views.reauthenticate_webauthn, name="mfa_reauthenticate_webauthn"),
    path("passkeys/sign-in/", views.login_webauthn, name="mfa_login_webauthn"),
    path("passkeys/<row:pk>/name/", views.edit_webauthn, name="mfa_edit_webauthn"),
    path("passkeys/<row:pk>/remove/", views.remove_webauthn, name="mfa_remove_webauthn"),
]
