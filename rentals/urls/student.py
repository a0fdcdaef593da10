"""The student's page of a loan, behind a private link. Every view of it is a `student_page`."""

from __future__ import annotations

from django.urls import URLPattern, path

from rentals.views import student_page

urlpatterns: list[URLPattern] = [
    path("my-kit/<str:token>/", student_page.kit, name="my_kit"),
]
