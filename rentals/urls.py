"""Addresses of the loan loop."""

from django.urls import URLPattern

app_name = "rentals"
urlpatterns: list[URLPattern] = []
