"""Work in the background."""

from django.urls import URLPattern, path

from rentals.views import errands

urlpatterns: list[URLPattern] = [
    path("work/", errands.errands, name="errands"),
    path("work/<row:pk>/", errands.errand, name="errand"),
    path("work/<row:pk>/cancel/", errands.cancel, name="errand_cancel"),
    path("work/<row:pk>/file/", errands.file, name="errand_file"),
]
