"""Today and the scan box."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
