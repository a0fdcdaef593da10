"""Counted stock."""

from django.urls import path

from rentals.views import stock

urlpatterns = [
    path("stock/", stock.stock_list, name="stock"),
    path("stock/new/", stock.stock_new, name="stock_new"),
    path("stock/<row:pk>/", stock.stock_item, name="stock_item"),
    path("stock/<row:pk>/edit/", stock.stock_edit, name="stock_edit"),
    path("stock/batch/<row:pk>/", stock.stock_batch, name="stock_batch"),
    path("stock/<row:pk>/count/", stock.stock_count, name="stock_count"),
]
