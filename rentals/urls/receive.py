"""Receiving, loans and shortfalls."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
