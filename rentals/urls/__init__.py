"""Addresses of the loan loop, one module per group of screens."""

from django.urls import URLPattern

from . import (
    desk,
    errands,
    faults,
    kits,
    money,
    pack,
    paper,
    plan,
    post,
    receive,
    reports,
    runs,
    setup,
    stock,
    student,
)

app_name = "rentals"
urlpatterns: list[URLPattern] = [
    *desk.urlpatterns,
    *errands.urlpatterns,
    *kits.urlpatterns,
    *stock.urlpatterns,
    *runs.urlpatterns,
    *plan.urlpatterns,
    *money.urlpatterns,
    *pack.urlpatterns,
    *receive.urlpatterns,
    *reports.urlpatterns,
    *faults.urlpatterns,
    *post.urlpatterns,
    *setup.urlpatterns,
    *paper.urlpatterns,
    *student.urlpatterns,
]
