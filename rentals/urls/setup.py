"""Kit types and the practice."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
