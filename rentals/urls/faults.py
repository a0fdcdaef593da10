"""Faults that students report, and what the help by symptom solved."""

from django.urls import URLPattern, path

from rentals.views import faults

urlpatterns: list[URLPattern] = [
    path("faults/", faults.fault_list, name="faults"),
    path("faults/solved/", faults.solved, name="guide_solved"),
    path("faults/<row:pk>/", faults.fault, name="fault"),
    path("faults/<row:pk>/answer/", faults.answer, name="fault_answer"),
    path("faults/<row:pk>/close/", faults.close, name="fault_close"),
    path("faults/<row:pk>/hold/", faults.hold, name="fault_hold"),
]
