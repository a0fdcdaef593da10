"""Course runs, rosters and students."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
