"""The bench's part of a student's page, behind the private link of the loan."""

from django.urls import URLPattern, path

from readiness.views import student_captures

app_name = "student_bench"
urlpatterns: list[URLPattern] = [
    path(
        "my-kit/<str:token>/help/<row:pk>/recordings/",
        student_captures.captures,
        name="captures",
    ),
]
