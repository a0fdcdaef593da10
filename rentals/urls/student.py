"""The student's page of a loan, behind a private link. Every view of it is a `student_page`."""

from __future__ import annotations

from django.urls import URLPattern, path

from rentals.views import student_arrival, student_guide, student_page

urlpatterns: list[URLPattern] = [
    path("my-kit/<str:token>/", student_page.kit, name="my_kit"),
    path("my-kit/<str:token>/use/", student_page.use, name="my_kit_use"),
    path("my-kit/<str:token>/arrival/", student_arrival.arrival, name="my_kit_arrival"),
    path("my-kit/<str:token>/return/", student_page.send_back, name="my_kit_return"),
    path("my-kit/<str:token>/return/sheet/", student_page.sheet, name="my_kit_sheet"),
    path("my-kit/<str:token>/language/", student_page.language, name="my_kit_language"),
    path("my-kit/<str:token>/help/", student_guide.symptoms, name="my_help"),
    path("my-kit/<str:token>/help/<row:pk>/", student_guide.visit, name="my_help_visit"),
    path("my-kit/<str:token>/help/<row:pk>/again/", student_guide.again, name="my_help_again"),
    path("my-kit/<str:token>/help/<row:pk>/report/", student_guide.report, name="my_help_report"),
]
