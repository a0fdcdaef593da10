"""Faults that students report; what the help by symptom solved, and its setup."""

from django.urls import URLPattern, path

from rentals.views import faults, guide_setup

urlpatterns: list[URLPattern] = [
    path("faults/", faults.fault_list, name="faults"),
    path("faults/solved/", faults.solved, name="guide_solved"),
    path("faults/<row:pk>/", faults.fault, name="fault"),
    path("faults/<row:pk>/answer/", faults.answer, name="fault_answer"),
    path("faults/<row:pk>/close/", faults.close, name="fault_close"),
    path("faults/<row:pk>/hold/", faults.hold, name="fault_hold"),
    path("setup/help/", guide_setup.steps, name="guide_steps"),
    path("setup/help/<slug:symptom>/new/", guide_setup.own_step_new, name="own_step_new"),
    path("setup/help/<slug:symptom>/<slug:step>/step/", guide_setup.step, name="guide_step"),
    path("setup/help/own/<row:pk>/", guide_setup.own_step, name="own_step"),
    path("setup/help/own/<row:pk>/remove/", guide_setup.own_step_remove, name="own_step_remove"),
]
