"""Kit types and the practice."""

from django.urls import path

from rentals.views import (
    access_tokens,
    carriers,
    customs,
    privacy,
    return_steps,
    setup,
    starter,
    student_texts,
    webhooks,
)

urlpatterns = [
    path("setup/", setup.setup, name="setup"),
    path("setup/tokens/", access_tokens.tokens, name="access_tokens"),
    path("setup/tokens/<row:pk>/revoke/", access_tokens.revoke, name="access_token_revoke"),
    path("setup/webhooks/", webhooks.webhook_list, name="webhooks"),
    path("setup/webhooks/<row:pk>/", webhooks.webhook, name="webhook"),
    path("setup/webhooks/<row:pk>/pause/", webhooks.pause, name="webhook_pause"),
    path("setup/webhooks/<row:pk>/go-on/", webhooks.resume, name="webhook_resume"),
    path("setup/webhooks/calls/<row:pk>/again/", webhooks.again, name="webhook_again"),
    path("setup/privacy/", privacy.privacy, name="privacy"),
    path("setup/practice/", setup.practice, name="practice"),
    path("setup/carriers/", carriers.carriers, name="carriers"),
    path("setup/carriers/new/", carriers.carrier_new, name="carrier_new"),
    path("setup/carriers/<row:pk>/", carriers.carrier, name="carrier"),
    path("setup/carriers/<row:pk>/remove/", carriers.carrier_remove, name="carrier_remove"),
    path("setup/student-page/", student_texts.student_texts, name="student_texts"),
    path(
        "setup/student-page/<str:key>/<str:language>/",
        student_texts.student_text,
        name="student_text",
    ),
    path(
        "setup/student-page/<str:key>/<str:language>/usual/",
        student_texts.usual,
        name="student_text_usual",
    ),
    path("setup/customs/", customs.customs, name="customs"),
    path("setup/customs/<slug:place>/", customs.customs_place, name="customs_place"),
    path("setup/kit-types/", setup.kit_types, name="kit_types"),
    path("setup/kit-types/new/", setup.kit_type_new, name="kit_type_new"),
    path("setup/kit-types/starter/", starter.starter, name="kit_type_starter"),
    path("setup/kit-types/<row:pk>/", setup.kit_type, name="kit_type"),
    path("setup/kit-types/<row:pk>/edit/", setup.kit_type_edit, name="kit_type_edit"),
    path("setup/kit-types/<row:pk>/lines/new/", setup.line_new, name="contents_line_new"),
    path("setup/kit-types/<row:pk>/steps/new/", return_steps.step_new, name="return_step_new"),
    path(
        "setup/kit-types/<row:pk>/steps/starter/",
        return_steps.steps_starter,
        name="return_steps_starter",
    ),
    path("setup/steps/<row:pk>/", return_steps.step_edit, name="return_step"),
    path("setup/steps/<row:pk>/move/", return_steps.step_move, name="return_step_move"),
    path("setup/steps/<row:pk>/remove/", return_steps.step_remove, name="return_step_remove"),
    path("setup/lines/<row:pk>/", setup.line_edit, name="contents_line"),
    path("setup/lines/<row:pk>/move/", setup.line_move, name="contents_line_move"),
    path("setup/lines/<row:pk>/remove/", setup.line_remove, name="contents_line_remove"),
    path(
        "setup/removed-lines/<row:pk>/put-back/",
        setup.line_put_back,
        name="contents_line_put_back",
    ),
]
