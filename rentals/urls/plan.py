"""The plan: which kit is where, and when."""

from django.urls import URLPattern, path

from rentals.views import plan

urlpatterns: list[URLPattern] = [
    path("plan/", plan.plan, name="plan"),
]
