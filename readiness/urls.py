"""Addresses of the bench."""

from django.urls import URLPattern

app_name = "readiness"
urlpatterns: list[URLPattern] = []
